import 'server-only';
import { betweenCopies, betweenFullSize, IDENTITY, project, signedArea, type Homography } from '@/lib/photo/homography';
import type { Pixels, Point, Polygon } from '@/lib/photo/pixels';
import { coarseSearch, distinct } from './coarse';
import { opencv, type Cv } from './opencv';
import { change, correlate, makeWarped, refine, warp } from './refine';
import { gap, settle, uncertaintyAt, type Settled } from './settle';
import { askTurf } from './witness';
import { compress, halve, makePlanes, makeView, turfOnly, type Planes, type View } from './views';
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

export interface Candidate {
  readonly map: Homography;
  readonly score: number;
}

/** Photos and outlines made ready: small copies at four sizes. */
export interface Prepared {
  readonly before: Pixels;
  readonly after: Pixels;
  readonly plots: readonly Point[];
  readonly outlines: readonly Polygon[];
  readonly views: readonly Pair<View>[];
}

export function prepare(before: Pixels, after: Pixels, options: RegisterOptions): Prepared {
  const full = { before: makeView(before, WORKING_WIDTH, options.boardsBefore), after: makeView(after, WORKING_WIDTH, options.boardsAfter) };
  const views: Pair<View>[] = [full];
  for (let i = 0; i < 3; i++) views.unshift({ before: halve(views[0]!.before), after: halve(views[0]!.after) });
  const outlines = options.plotCornersBefore?.length ? options.plotCornersBefore : [middle(before)];
  return { before, after, plots: outlines.flat(), outlines, views };
}

interface Pair<T> {
  readonly before: T;
  readonly after: T;
}

const both = <A, B>({ before, after }: Pair<A>, make: (one: A) => B): Pair<B> => ({ before: make(before), after: make(after) });

/** Starts that may be right, best first, from a search over everything at 100 pixels and a closer look at 200. */
export function findStarts(cv: Cv, ready: Prepared, trail: string[] = []): Candidate[] {
  const [eighth, quarter] = ready.views as [Pair<View>, Pair<View>];
  const t0 = performance.now();
  const raw1 = both(eighth, (v) => makePlanes(v, 1.2, 9));
  const raw2 = both(quarter, (v) => makePlanes(v, 1.5, 9));
  const wide = both(raw1, (p) => compress(p, 0.7));
  const turf = both(raw1, turfOnly);
  const l1 = both(raw1, (p) => compress(p, 2));
  const l2 = both(raw2, (p) => compress(p, 4));
  const turf2 = both(raw2, turfOnly);
  const warped = makeWarped(l2.before.width * l2.before.height);
  const score = (full: Homography): number => {
    warp(l2.before, l2.after, toCopy(full, l2), warped);
    const all = correlate(l2.before, warped);
    warp(turf2.before, turf2.after, toCopy(full, l2), warped);
    const ground = correlate(turf2.before, warped);
    return (all.correlation + 2 * ground.correlation) * Math.min(1, all.overlap + 0.25);
  };
  trail.push(`planes ${(performance.now() - t0).toFixed(0)}`);
  const guesses = distinct(
    [...coarseSearch(cv, wide.before, wide.after, 7), ...coarseSearch(cv, turf.before, turf.after, 7)], wide.before, 12);
  trail.push(`coarse ${(performance.now() - t0).toFixed(0)}`);
  const ok = (c: Candidate): boolean => plausible(c.map, ready.before, ready.after);
  const first = guesses.map((g): Candidate => {
    const fit = refine(l1.before, l1.after, g.map, { rounds: 10, block: 10 });
    const map = toFull(fit.map, l1);
    return { map, score: score(map) };
  }).filter(ok).sort((a, b) => b.score - a.score);
  trail.push(`refine ${(performance.now() - t0).toFixed(0)}`);
  const second = first.slice(0, 4).map((c): Candidate => {
    const settled = look(l2, c.map, { half: 12, reach: 9, spacing: 8, independent: 27 }, [0.06, 0.04]);
    if (!settled || !ok({ map: settled.full, score: 0 })) return c;
    const better = score(settled.full);
    return better > c.score ? { map: settled.full, score: better } : c;
  }).sort((a, b) => b.score - a.score);
  trail.push(`look ${(performance.now() - t0).toFixed(0)}`);
  return second;
}

export async function registerPair(before: Pixels, after: Pixels, options: RegisterOptions = {}): Promise<Registration> {
  const cv = await opencv();
  const started = performance.now();
  const times: number[] = [];
  const ready = prepare(before, after, options);
  const { plots, outlines } = ready;
  times.push(performance.now() - started);
  const trail: string[] = [];
  const starts = findStarts(cv, ready, trail);
  times.push(performance.now() - started);
  const best = starts[0] ?? { map: IDENTITY, score: 0 };
  const diagonal = Math.hypot(after.width, after.height);
  const rival = starts.find((c) => gap(c.map, best.map, plots) > 0.04 * diagonal)?.score ?? 0;
  const r2 = both(ready.views[1]!, (v) => makePlanes(v, 1.5, 9));
  const r4 = both(ready.views[2]!, (v) => makePlanes(v, 1.5, 10));
  const r8 = both(ready.views[3]!, (v) => makePlanes(v, 1.5, 10));
  const [l2, l4, l8] = [r2, r4, r8].map((r) => both(r, (p) => compress(p, 4))) as [Level, Level, Level];
  times.push(performance.now() - started);
  let map = best.map;
  const sigmas: number[] = [];
  const agreements: number[] = [];
  let sightings = 0;
  let moved = 0;
  const maps: Homography[] = [map];
  const alone: number[] = [];
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
    const small = plots.map(([x, y]): Point => [(x + 0.5) * s - 0.5, (y + 0.5) * s - 0.5]);
    sigmas.push(Math.max(...small.map((p) => (uncertaintyAt(l.before, settled.covariance, p) / size) * 100)));
    alone.push(Math.max(...settled.without.map((step) => gap(change(step, l.before), IDENTITY, small))) / size * 100);
    times.push(performance.now() - started);
  }
  const ms = performance.now() - started;
  const evidence: Evidence = {
    sigmaPercent: sigmas.at(-1)!, sigmas, agreement: agreements.at(-1)!, agreements, sightings,
    correlation: best.score, rival, moved, candidates: trail, times,
  };
  const t4 = both(r4, (p) => compress(p, 1));
  const t4b = both(r4, turfOnly);
  Object.assign(evidence, { maps, alone, turf: [askTurf(t4.before, t4.after, toCopy(map, t4), outlines, 12, 16), askTurf(t4b.before, t4b.after, toCopy(map, t4), outlines, 12, 16)] });
  const sure = sigmas[2]! < 1 && agreements[2]! > 0.6;
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
