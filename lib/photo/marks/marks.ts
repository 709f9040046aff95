import { linearRgbToLab } from '../../colour/cielab';
import { differenceCiede2000 } from '../../colour/ciede2000';
import { grow, shrink } from '../raster/components';
import { findDebris } from './debris';
import { cellChange, coarser, smoothFeatures, type CellChange, type PlotFeatures } from './change';
import type { Feature } from './features';
import { kindOf, type MarkKind } from './kind';
import { markRegions, type CellGroup } from './regions';
import { bridged, scoreChange } from './score';
import { medianAt } from '../measure/median';
import type { GroundRaster } from '../ground/rectify';
import { sampled } from '../light/robust-plane';
import { findShadow, type Shadow } from '../light/shadow';

/**
 * One plot as the search takes it: light-corrected, both photos on the same raster; no `before` means one photo only.
 */
export interface MarkPlot {
  readonly id: string;
  readonly before: GroundRaster | null;
  readonly after: GroundRaster;
  /** 1 where the ground is not turf (stone, a shrub): not looked at. */
  readonly notTurf?: Uint8Array;
}

/** A flagged patch of one plot. */
export interface FoundMark {
  readonly plotId: string;
  readonly kind: MarkKind;
  /** True: not there in the earlier photo. False: already there. Null: there is no earlier photo, it may be old. */
  readonly isNew: boolean | null;
  /** Its cells in the plot's raster. */
  readonly cells: Int32Array;
  /** Share of the plot's ground, 0..1. */
  readonly share: number;
  /** Peak score, in standard deviations of the plot's own variation. */
  readonly score: number;
  /** CIEDE2000 between the mark and the turf around it, in the later photo's light. */
  readonly deltaE00: number;
  /** Where its chroma went, see kindOf. */
  readonly directionDegrees: number;
}

/** Version and parameters of the search; lengths are shares of the plot's side (root of its area). */
export const MARKS = {
  version: 'marks-2',
  /** Smoothing of the first look and of the second, for faint and wide marks. */
  smoothing: 0.0225,
  coarseSmoothing: 0.03,
  /** Half-width of the band left out at a shadow's edge. */
  edgeBand: 0.03,
  start: 4.6,
  /** Blackening changes a leaf's colour least, and little else looks like it: it may start lower. */
  startBlackening: 4.2,
  /**
   * A mark below this share starts higher: of 53 drawn marks found none was weaker than 6.5 (blackening and yellowing
   * of 3.5% and more), while what was no mark had 4.9 and 5.3 at 1.2% and 1.5% (2026-11).
   */
  smallShare: 0.025,
  startSmall: 6,
  /** With one photo only, nothing says what was there before: more is asked. */
  startSingle: 6,
  reach: 2.6,
  rim: 0.55,
  minShare: 0.012,
  coarseMinShare: 0.015,
  maxAspect: 3.0,
  wideShare: 0.05,
  /** A mark weaker than this beside debris of this share of its own size is the debris' rim. */
  rimSurely: 8,
  rimShare: 0.3,
  /** ...and one with this share of its cells this near to the plot's border is the border's. */
  border: 0.1,
  borderShare: 0.5,
  /**
   * ...and one that lies more than this on ground that was no turf in the earlier photo is that ground's: fresh mulch,
   * a wet stone.
   */
  notTurfShare: 0.3,
  /** A change on an earlier mark is new only when it is at least this strong against the earlier mark. */
  worsening: 0.6,
} as const;

export interface PairShadow {
  readonly before: Shadow | null;
  readonly after: Shadow | null;
}

export interface MarkSearch {
  readonly marks: readonly FoundMark[];
  readonly shadow: PairShadow;
  /** One mask a plot: leaves and scuffs in the later photo. */
  readonly debris: readonly Uint8Array[];
  /** One map a plot: 0 lit in both, 1 shaded later, 2 shaded before, 3 in both. */
  readonly zones: readonly Uint8Array[];
}

/** Looks for marks in every plot of a pair of photos, or of one photo. A shadow found already may be handed in. */
export function findMarks(plots: readonly MarkPlot[], shadow: PairShadow = shadowsOf(plots)): MarkSearch {
  const { before, after } = shadow;
  const zones = plots.map((plot, k) =>
    plot.after.seen.map((_, i) => (after?.shade[k]![i] ?? 0) + 2 * (before?.shade[k]![i] ?? 0)),
  );
  const marks: FoundMark[] = [];
  const debris: Uint8Array[] = [];
  plots.forEach((plot, k) => {
    const look = lookAtPlot(
      { ...plot, before: plot.before && relit(plot.before, before, k), after: relit(plot.after, after, k) },
      zones[k]!,
    );
    marks.push(...look.marks);
    debris.push(look.debris);
  });
  return { marks, shadow, debris, zones };
}

/** Hard shadows over all plots, in each photo. */
export function shadowsOf(plots: readonly MarkPlot[]): PairShadow {
  const earlier = plots.map((plot) => plot.before).filter((raster) => raster !== null);
  return {
    before: earlier.length === plots.length ? findShadow(earlier) : null,
    after: findShadow(plots.map((plot) => plot.after)),
  };
}

/** The raster with its shaded part brought to sunlight, so that colours mean the same on both sides. */
function relit(raster: GroundRaster, shadow: Shadow | null, k: number): GroundRaster {
  if (shadow === null || !shadow.shade[k]!.includes(1)) return raster;
  const linear = raster.linear.slice();
  for (let i = 0; i < raster.seen.length; i++) {
    if (shadow.shade[k]![i]) for (let c = 0; c < 3; c++) linear[i * 3 + c]! *= shadow.relight[c]!;
  }
  return { ...raster, linear };
}

const ZONES = 4;

function lookAtPlot(plot: MarkPlot, zone: Uint8Array): { marks: FoundMark[]; debris: Uint8Array } {
  const { width, height } = plot.after;
  const side = Math.sqrt(width * height);
  const turfOnly =
    plot.notTurf === undefined ? null : grow(plot.notTurf, width, height, Math.round(MARKS.edgeBand * side));
  const core = zoneCores(zone, width, height, Math.round(MARKS.edgeBand * side)).map((c, i) =>
    c && !turfOnly?.[i] ? 1 : 0,
  );
  const later = prepare(plot.after, zone, core);
  const earlier = plot.before === null ? null : prepare(plot.before, zone, core);
  const change = cellChange(earlier?.features ?? null, later.features, zone, ZONES, width, height);
  const turf = turfColour(later.features, change.use);
  const found = search(change, turf, core, turfOnly, width, height).filter(
    (r) => !isRimOf(later.debris, r, width, height) && !hugsBorder(r, width, height),
  );
  if (earlier === null) {
    const sure = found.filter((r) => r.peak >= MARKS.startSingle);
    return { marks: sure.map((r) => describe(plot, r, change, turf, zone, null)), debris: later.debris };
  }
  const fresh =
    plot.notTurf === undefined ? found : found.filter((r) => shareOn(r.cells, plot.notTurf!) <= MARKS.notTurfShare);
  const marks: FoundMark[] = [];
  const was = cellChange(null, earlier.features, zone, ZONES, width, height);
  const oldRegions = search(was, turfColour(earlier.features, was.use), core, turfOnly, width, height);
  for (const region of fresh) {
    const old = oldRegions.find((r) => overlap(region.cells, r.cells, width, height, Math.round(0.02 * side)) >= 0.5);
    const isNew = old === undefined || region.peak > MARKS.worsening * old.peak;
    if (isNew) marks.push(describe(plot, region, change, turf, zone, true));
  }
  if (oldRegions.length > 0) {
    const now = cellChange(null, later.features, zone, ZONES, width, height);
    for (const region of search(now, turf, core, turfOnly, width, height)) {
      const known = oldRegions.some(
        (r) => overlap(region.cells, r.cells, width, height, Math.round(0.02 * side)) >= 0.5,
      );
      const alreadyListed = marks.some((m) => overlap(region.cells, m.cells, width, height, 0) >= 0.3);
      if (known && !alreadyListed) marks.push(describe(plot, region, now, turf, zone, false));
    }
  }
  return { marks, debris: later.debris };
}

function shareOn(cells: Int32Array, mask: Uint8Array): number {
  let count = 0;
  for (const i of cells) count += mask[i]!;
  return count / cells.length;
}

/** 1 where a cell and all cells around it lie in one light. */
function zoneCores(zone: Uint8Array, width: number, height: number, radius: number): Uint8Array {
  const core = new Uint8Array(zone.length);
  for (let z = 0; z < ZONES; z++) {
    if (!zone.includes(z)) continue;
    const inside = shrink(
      zone.map((v) => (v === z ? 1 : 0)),
      width,
      height,
      radius,
    );
    for (let i = 0; i < core.length; i++) if (inside[i]) core[i] = 1;
  }
  return core;
}

function prepare(
  raster: GroundRaster,
  zone: Uint8Array,
  core: Uint8Array,
): { features: PlotFeatures; debris: Uint8Array } {
  const { width, height, seen } = raster;
  const debris = new Uint8Array(zone.length);
  for (let z = 0; z < ZONES; z++) {
    if (!zone.includes(z)) continue;
    const lying = findDebris(
      raster,
      zone.map((v, i) => (v === z && seen[i] ? 1 : 0)),
    );
    for (let i = 0; i < debris.length; i++) if (lying[i]) debris[i] = 1;
  }
  const keep = core.map((c, i) => (c && seen[i] && !debris[i] ? 1 : 0));
  return { features: smoothFeatures(raster, keep, zone, ZONES, MARKS.smoothing * Math.sqrt(width * height)), debris };
}

/** The plot's typical turf colour, linear. */
function turfColour(features: PlotFeatures, use: Uint8Array): readonly [number, number, number] {
  const cells = sampled(use, 4000);
  const channel = (c: 0 | 1 | 2): number => {
    return cells.length === 0 ? 0.1 : medianAt(features.linear[c], cells);
  };
  return [channel(0), channel(1), channel(2)];
}

/** A sharp look first, then a coarser one for faint wide marks. */
function search(
  change: CellChange,
  turf: readonly [number, number, number],
  core: Uint8Array,
  notTurf: Uint8Array | null,
  width: number,
  height: number,
): CellGroup[] {
  const side = Math.sqrt(width * height);
  const bridge = core.map((c, i) => ((c && change.use[i]) || notTurf?.[i] ? 0 : 1));
  const limits = {
    start: MARKS.startBlackening,
    reach: MARKS.reach,
    rim: MARKS.rim,
    maxAspect: MARKS.maxAspect,
    wideShare: MARKS.wideShare,
  };
  const looks = [
    { change: () => change, minShare: MARKS.minShare },
    { change: () => coarser(change, width, height, MARKS.coarseSmoothing * side), minShare: MARKS.coarseMinShare },
  ];
  const found: CellGroup[] = [];
  for (const look of looks) {
    const score = bridged(scoreChange(look.change(), turf), change.use, bridge, width, height, MARKS.edgeBand * side);
    const fresh = markRegions(score, width, height, { ...limits, minShare: look.minShare }).filter(
      (region) =>
        sureEnough(region, change, turf) &&
        !found.some(
          (r) =>
            overlap(r.cells, region.cells, width, height, 1) > 0.1 ||
            overlap(region.cells, r.cells, width, height, 1) > 0.1,
        ),
    );
    found.push(...fresh);
  }
  return found;
}

/** A weak mark round a leaf or a scuff is that thing's soft rim. */
function isRimOf(debris: Uint8Array, region: CellGroup, width: number, height: number): boolean {
  if (region.peak >= MARKS.rimSurely) return false;
  const mask = new Uint8Array(width * height);
  for (const i of region.cells) mask[i] = 1;
  const near = grow(mask, width, height, Math.round(MARKS.edgeBand * Math.sqrt(width * height)));
  let touching = 0;
  for (let i = 0; i < near.length; i++) if (near[i] && debris[i]) touching++;
  return touching > MARKS.rimShare * region.cells.length;
}

/** A weak mark along the plot's border is the neighbour's colour, or an outline a little off. */
function hugsBorder(region: CellGroup, width: number, height: number): boolean {
  if (region.peak >= MARKS.rimSurely) return false;
  const reach = MARKS.border * Math.sqrt(width * height);
  let near = 0;
  for (const i of region.cells) {
    const x = i % width;
    const y = Math.floor(i / width);
    if (Math.min(x, y, width - 1 - x, height - 1 - y) < reach) near++;
  }
  return near > MARKS.borderShare * region.cells.length;
}

function sureEnough(region: CellGroup, change: CellChange, turf: readonly [number, number, number]): boolean {
  if (region.share < MARKS.smallShare && region.peak < MARKS.startSmall) return false;
  return region.peak >= MARKS.start || kindOf(meanChange(region, change), turf).kind === 'blackening';
}

/** Share of `a` that lies on `b` grown by `reach` cells. */
function overlap(a: Int32Array, b: Int32Array, width: number, height: number, reach: number): number {
  let mask = new Uint8Array(width * height);
  for (const i of b) mask[i] = 1;
  if (reach > 0) mask = Uint8Array.from(grow(mask, width, height, reach));
  let common = 0;
  for (const i of a) common += mask[i]!;
  return common / a.length;
}

function describe(
  plot: MarkPlot,
  region: CellGroup,
  change: CellChange,
  turf: readonly [number, number, number],
  zone: Uint8Array,
  isNew: boolean | null,
): FoundMark {
  const { kind, directionDegrees } = kindOf(meanChange(region, change), turf);
  return {
    plotId: plot.id,
    kind,
    isNew,
    cells: region.cells,
    share: region.share,
    score: region.peak,
    deltaE00: contrast(plot.after, region.cells, zone),
    directionDegrees,
  };
}

function meanChange(region: CellGroup, change: CellChange): Feature {
  const sum = [0, 0, 0];
  let count = 0;
  for (const i of region.cells) {
    if (!change.use[i]) continue;
    sum[0]! += change.lightness[i]!;
    sum[1]! += change.redGreen[i]!;
    sum[2]! += change.yellowBlue[i]!;
    count++;
  }
  const n = Math.max(1, count);
  return [sum[0]! / n, sum[1]! / n, sum[2]! / n];
}

/** CIEDE2000 of the mean linear colours inside and in a ring around, both in the light most of the mark lies in. */
function contrast(raster: GroundRaster, cells: Int32Array, zone: Uint8Array): number {
  const { width, height, linear, seen } = raster;
  const counts = new Int32Array(ZONES);
  for (const i of cells) counts[zone[i]!]!++;
  const light = counts.indexOf(Math.max(...counts));
  const mask = new Uint8Array(width * height);
  for (const i of cells) mask[i] = 1;
  const side = Math.sqrt(width * height);
  const near = grow(mask, width, height, Math.round(0.03 * side));
  const far = grow(mask, width, height, Math.round(0.1 * side));
  const mean = (where: (i: number) => boolean) => {
    const sum = [0, 0, 0];
    let n = 0;
    for (let i = 0; i < mask.length; i++) {
      if (zone[i] !== light || !seen[i] || !where(i)) continue;
      for (let c = 0; c < 3; c++) sum[c]! += linear[i * 3 + c]!;
      n++;
    }
    return n === 0 ? null : linearRgbToLab(sum[0]! / n, sum[1]! / n, sum[2]! / n);
  };
  const inside = mean((i) => mask[i] === 1);
  const around = mean((i) => far[i] === 1 && near[i] === 0);
  return inside === null || around === null ? 0 : differenceCiede2000(around, inside);
}
