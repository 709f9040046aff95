import 'server-only';
import { betweenCopies, betweenFullSize, IDENTITY, project, signedArea, type Homography } from '@/lib/photo/homography';
import type { Pixels, Point, Polygon } from '@/lib/photo/pixels';
import { coarseSearch } from './coarse';
import { opencv } from './opencv';
import { refine } from './refine';
import { gap, settle, uncertaintyAt, type Settled } from './settle';
import { askTurf } from './witness';
import { halve, makePlanes, makeView, type Planes } from './views';
import { sight, type WindowOptions } from './windows';

export interface RegisterOptions {
  /** Outlines of the plots in the earlier photo: where the answer must be right. Without: the photo's middle. */
  readonly plotCornersBefore?: readonly Polygon[];
  /** Boards (chart, grey card) to leave out. */
  readonly boardsBefore?: readonly Polygon[];
  readonly boardsAfter?: readonly Polygon[];
}

export interface Registration {
  readonly status: 'ok' | 'taps';
  readonly confidence: number;
  /** Best guess, earlier photo to later photo, upright full-size pixels; of use as a start even when status is 'taps'. */
  readonly homography: Homography;
  readonly ms: number;
  readonly reasons: readonly string[];
  readonly evidence: Evidence;
}

export interface Evidence {
  readonly sigmaPercent: number;
  readonly sigmas: readonly number[];
  readonly agreement: number;
  readonly agreements: readonly number[];
  readonly sightings: number;
  readonly correlation: number;
  readonly rival: number;
  readonly moved: number;
  readonly candidates: readonly string[];
  readonly times: readonly number[];
}

const WORKING_WIDTH = 800;

interface Level {
  readonly before: Planes;
  readonly after: Planes;
}

interface Candidate {
  readonly map: Homography;
  readonly score: number;
}

export async function registerPair(before: Pixels, after: Pixels, options: RegisterOptions = {}): Promise<Registration> {
  const cv = await opencv();
  const started = performance.now();
  const times: number[] = [];
  const views = [
    makeView(before, WORKING_WIDTH, options.boardsBefore),
    makeView(after, WORKING_WIDTH, options.boardsAfter),
  ] as const;
  const half = [halve(views[0]), halve(views[1])] as const;
  const quarter = [halve(half[0]), halve(half[1])] as const;
  const eighth = [halve(quarter[0]), halve(quarter[1])] as const;
  const level = ([b, a]: readonly [typeof views[0], typeof views[0]], smooth: number, local: number, soft?: number): Level =>
    ({ before: makePlanes(b, smooth, local, soft), after: makePlanes(a, smooth, local, soft) });
  const l1 = level(eighth, 1.2, 9, 0.7);
  const l2 = level(quarter, 1.5, 9);
  const plots = options.plotCornersBefore?.flat() ?? middle(before);
  times.push(performance.now() - started);
  const guesses = coarseSearch(cv, l1.before, l1.after, 8);
  times.push(performance.now() - started);
  const trail: string[] = [];
  const first = guesses.map((g): Candidate => {
    const full = betweenFullSize(g.map, l1.before.scale, l1.after.scale);
    const fit = refine(l2.before, l2.after, toCopy(full, l2), { rounds: 8, block: 13 });
    return { map: toFull(fit.map, l2), score: fit.correlation * Math.min(1, fit.overlap + 0.2) };
  }).filter((c) => plausible(c.map, before, after));
  first.sort((a, b) => b.score - a.score);
  times.push(performance.now() - started);
  const second = first.slice(0, 4).map((c): Candidate => {
    const settled = look(l2, c.map, { half: 12, reach: 9, spacing: 8, independent: 27 }, [0.06, 0.04]);
    if (!settled) return c;
    const again = refine(l2.before, l2.after, toCopy(settled.full, l2), { rounds: 4, block: 13 });
    const better = again.correlation * Math.min(1, again.overlap + 0.2);
    return better > c.score ? { map: toFull(again.map, l2), score: better } : c;
  }).filter((c) => plausible(c.map, before, after));
  second.sort((a, b) => b.score - a.score);
  times.push(performance.now() - started);
  const best = second[0] ?? { map: IDENTITY, score: 0 };
  const diagonal = Math.hypot(after.width, after.height);
  const rival = second.find((c) => gap(c.map, best.map, plots) > 0.03 * diagonal)?.score ?? 0;
  const l4 = level(half, 1.5, 10);
  const l8 = level(views, 1.5, 10);
  times.push(performance.now() - started);
  let map = best.map;
  const sigmas: number[] = [];
  const agreements: number[] = [];
  let sightings = 0;
  let moved = 0;
  const maps: Homography[] = [map];
  for (const [at, window, loose] of STEPS) {
    const l = at === 2 ? l2 : at === 4 ? l4 : l8;
    const settled = look(l, map, window, loose);
    if (!settled) { sigmas.push(99); agreements.push(0); continue; }
    moved = gap(map, settled.full, plots) / diagonal * 100;
    map = settled.full;
    maps.push(map);
    agreements.push(settled.agreement);
    sightings = settled.kept.length;
    const s = l.before.scale;
    const size = Math.hypot(l.before.width, l.before.height);
    sigmas.push(Math.max(...plots.map(([x, y]) => (uncertaintyAt(l.before, settled.covariance, [(x + 0.5) * s - 0.5, (y + 0.5) * s - 0.5]) / size) * 100)));
    times.push(performance.now() - started);
  }
  const ms = performance.now() - started;
  const evidence: Evidence = {
    sigmaPercent: sigmas.at(-1)!, sigmas, agreement: agreements.at(-1)!, agreements, sightings,
    correlation: best.score, rival, moved, candidates: trail, times,
  };
  (evidence as any).maps = maps;
  { const t0=performance.now(); const outlines = options.plotCornersBefore ?? [middle(before)]; const e=[] as any[];
    const s2 = level(quarter, 1.5, 7, 1); const s4 = level(half, 1.5, 8, 1);
    e.push(askTurf(s2.before, s2.after, toCopy(map, s2), outlines, 8, 10), askTurf(l2.before, l2.after, toCopy(map, l2), outlines, 8, 10), askTurf(s4.before, s4.after, toCopy(map, s4), outlines, 12, 16));
    (evidence as any).turf = e; (evidence as any).turfMs = performance.now()-t0; }
  const sure = sigmas[2]! < 1 && agreements[2]! > 0.6 && best.score > 0.25;
  return { status: sure ? 'ok' : 'taps', confidence: sure ? 0.9 : 0.3, homography: map, ms, reasons: [], evidence };
}

const STEPS: readonly [2 | 4 | 8, WindowOptions, [number, number]][] = [
  [2, { half: 12, reach: 7, spacing: 6, independent: 27 }, [0.05, 0.03]],
  [4, { half: 12, reach: 8, spacing: 12, independent: 27 }, [0.05, 0.03]],
  [4, { half: 12, reach: 5, spacing: 12, independent: 27 }, [0.05, 0.03]],
  [8, { half: 15, reach: 6, spacing: 20, independent: 41 }, [0.05, 0.03]],
];

function look(l: Level, full: Homography, window: WindowOptions, loose: readonly [number, number]): (Settled & { full: Homography }) | undefined {
  const map = toCopy(full, l);
  const settled = settle(l.before, map, sight(l.before, l.after, map, window), { floor: 0.4, cell: window.spacing * 3, loose });
  return settled && { ...settled, full: toFull(settled.map, l) };
}

const toCopy = (full: Homography, l: Level): Homography => betweenCopies(full, l.before.scale, l.after.scale);
const toFull = (map: Homography, l: Level): Homography => betweenFullSize(map, l.before.scale, l.after.scale);

function middle({ width: w, height: h }: Pixels): Point[] {
  return [[0.15 * w, 0.15 * h], [0.85 * w, 0.15 * h], [0.85 * w, 0.75 * h], [0.15 * w, 0.75 * h]];
}

/** A second photo from about the same place: area within a factor of 2.2, turned less than 30 degrees, still convex. */
export function plausible(map: Homography, before: { width: number; height: number }, after: { width: number; height: number }): boolean {
  const [w, h] = [before.width - 1, before.height - 1];
  const corners: Point[] = [[0, 0], [w, 0], [w, h], [0, h]];
  if (!map.every(Number.isFinite) || corners.some(([x, y]) => map[6] * x + map[7] * y + map[8] <= 0.2)) return false;
  const to = corners.map((c) => project(map, c));
  const area = signedArea(to) / (after.width * after.height);
  if (!(area > 1 / 2.2 && area < 2.2)) return false;
  for (let i = 0; i < 4; i++) {
    if (signedArea([to[i]!, to[(i + 1) % 4]!, to[(i + 2) % 4]!]) <= 0) return false;
  }
  const turn = Math.atan2(to[1]![1] - to[0]![1], to[1]![0] - to[0]![0]);
  return Math.abs(turn) < (30 * Math.PI) / 180;
}
