import 'server-only';
import { applyHomography, IDENTITY, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { look } from './closer-look';
import { changeBetween, groundOnly, type GroundFit } from './refine-ground';
import { inOrder } from './search-ground';
import { judge, knowsItself, type Evidence, type Verdict } from './judge';
import { both, once, toCopy, type Pair, type Prepared } from './pair-looked';
import { change } from './refine';
import { fitAndRival } from './rival';
import { gap, uncertaintyAt, type SettleOptions } from './settle';
import { plausible, type Moved } from './starts';
import { compress, withoutLight, type Planes } from './views';
import type { WindowOptions } from './windows';
import { askTurf, type Witness } from './witness';

/** Looks ever closer: size of the copy (index into the copies), windows. */
// prettier-ignore
const STEPS: readonly (readonly [number, readonly WindowOptions[]])[] = [
  [1, [{ half: 12, reach: 7, spacing: 8, independent: 27 }, { half: 7, reach: 12, spacing: 'striking', independent: 20 }]],
  [2, [{ half: 12, reach: 7, spacing: 14, independent: 27 }, { half: 9, reach: 12, spacing: 'striking', independent: 28 }]],
  [2, [{ half: 12, reach: 5, spacing: 14, independent: 27 }, { half: 9, reach: 8, spacing: 'striking', independent: 28 }]],
  [3, [{ half: 15, reach: 6, spacing: 24, independent: 41 }, { half: 12, reach: 8, spacing: 'striking', independent: 40 }]],
];

/** The last look is repeated while it moves the corners by more than this, so often at most. */
const LOOKS = 5;
const STILL_PERCENT = 0.35;

const NOTHING_SEEN: Evidence['steps'][number] = {
  sigmaPercent: 99,
  withoutOnePercent: 99,
  agreement: 0,
  sightings: 0,
  movedPercent: 99,
};

/** Not for photos that are plainly no pair: they move for ever. */
function worthAnotherLook(found: Evidence['steps'][number]): boolean {
  return found.sigmaPercent < 0.8 && found.sightings >= 20;
}

/** A map looked at closely. */
export interface Answer {
  readonly map: Homography;
  readonly evidence: Evidence;
  readonly verdict: Verdict;
  /** The map that the plots' own turf gives, looked at from this one; undefined where it says too little. */
  readonly own: () => Homography | undefined;
}

/** From a start to the answer, with what was seen on the way; held by the camera's move where one is known. */
export function closeIn(
  ready: Prepared,
  start: Homography,
  by: { readonly moved: Moved; readonly fit: GroundFit } | undefined,
): Answer {
  const { plots, outlines, photos, raw } = ready;
  const percent = 100 / Math.hypot(photos.after.width, photos.after.height);
  const levels = raw.map((pair, i) => {
    if (i === 0) return pair;
    const level = both(pair, (p) => compress(p, 4));
    return by
      ? { before: groundOnly(level.before, by.fit.plane, by.fit.move.focal[0], photos.before), after: level.after }
      : level;
  });
  const percentOf = (level: Pair<Planes>): number => 100 / Math.hypot(level.before.width, level.before.height);
  const step = (
    from: Homography,
    size: number,
    windows: readonly WindowOptions[],
    held: boolean | 'own',
  ): { map: Homography; found: Evidence['steps'][number] } => {
    const level = levels[size]!;
    const settled = look(
      level,
      from,
      windows,
      held === 'own' ? OWN : held && by ? heldBy(by.fit, from, level) : by ? FREED : [0.05, 0.03],
      plots,
      held === 'own' ? CLOSE_ROUND : held ? AROUND : undefined,
    );
    if (!settled || !(by ? inOrder(settled.full, plots, photos) : plausible(settled.full, photos)))
      return { map: from, found: NOTHING_SEEN };
    const s = level.before.scale;
    const small = plots.map(([x, y]): Point => [(x + 0.5) * s - 0.5, (y + 0.5) * s - 0.5]);
    return {
      map: settled.full,
      found: {
        sigmaPercent:
          percentOf(level) * Math.max(...small.map((p) => uncertaintyAt(level.before, settled.covariance, p))),
        withoutOnePercent:
          percentOf(level) * Math.max(0, ...settled.without.map((d) => gap(change(d, level.before), IDENTITY, small))),
        agreement: settled.agreement,
        sightings: settled.kept.length,
        movedPercent: gap(from, settled.full, plots) * percent,
      },
    };
  };
  const climb = (
    from: Homography,
    held: boolean | 'own',
    path: typeof STEPS,
  ): { map: Homography; steps: Evidence['steps'][number][] } => {
    let map = from;
    const steps: Evidence['steps'][number][] = [];
    for (const [size, windows] of path) {
      for (let looks = 1; looks <= LOOKS; looks++) {
        const next = step(map, size, windows, held);
        map = next.map;
        steps[steps.length - (looks > 1 ? 1 : 0)] = next.found;
        if (size !== 3 || next.found.movedPercent <= STILL_PERCENT || !worthAnotherLook(next.found)) break;
      }
    }
    return { map, steps };
  };
  const first = climb(start, by !== undefined, by ? STEPS.slice(1) : STEPS);
  let { map } = first;
  let steps = first.steps.slice(-3);
  let whole = wholeFit(ready, map, by);
  let freedPercent = 0;
  if (by) {
    // Where the ground itself holds much that lasts, it is surer than the move: let it settle by itself, and see.
    const freed = climb(map, false, STEPS.slice(2));
    const fit = wholeFit(ready, freed.map, by);
    freedPercent = gap(map, freed.map, plots) * percent;
    if (freed.steps.at(-1)!.sigmaPercent < steps.at(-1)!.sigmaPercent && fit.fit > whole.fit - NO_WORSE) {
      ({ map } = freed);
      steps = [steps[0]!, ...freed.steps];
      whole = fit;
    }
  }
  const asked = both(raw[2]!, (p) => compress(p, 1));
  const ask = (by: Homography): Witness => askTurf(asked.before, asked.after, toCopy(by, asked), outlines, 12, 16);
  const turf = ask(map);
  const own = once((): Homography | undefined => {
    if (!(turf.median >= SPEAKS.median && turf.z >= SPEAKS.z && turf.offset <= SPEAKS.offset)) return undefined;
    const looked = climb(map, 'own', STEPS.slice(2));
    return looked.steps.at(-1) === NOTHING_SEEN ? undefined : looked.map;
  });
  const coarse = both(raw[1]!, (p) => compress(p, 1));
  const blotches = askTurf(coarse.before, coarse.after, toCopy(map, coarse), outlines, 12, 10);
  const ofColour = knowsItself(turf) ? both(asked, withoutLight) : undefined;
  const colour = ofColour && askTurf(ofColour.before, ofColour.after, toCopy(map, ofColour), outlines, 12, 16);
  const inFrame =
    plots.filter((p) => {
      const [x, y] = applyHomography(map, p);
      return x >= 0 && y >= 0 && x <= photos.after.width - 1 && y <= photos.after.height - 1;
    }).length / plots.length;
  const evidence: Evidence = {
    steps,
    turf,
    blotches,
    ...(colour ? { colour } : {}),
    cornersInFrame: inFrame,
    ...whole,
    ...(by ? moveEvidence(by, photos, map, plots, freedPercent) : {}),
  };
  return { map, evidence, verdict: judge(evidence), own };
}

/** How well the surroundings of the plots look the same under a map, and how well they do a plot's width or so away. */
function wholeFit(
  ready: Prepared,
  map: Homography,
  by: { readonly fit: GroundFit } | undefined,
): Pick<Evidence, 'fit' | 'rivalFit'> {
  const level = both(ready.raw[2]!, (p) => compress(p, 4));
  const before = by ? groundOnly(level.before, by.fit.plane, by.fit.move.focal[0], ready.photos.before) : level.before;
  return fitAndRival(before, level.after, map, ready.outlines);
}

function moveEvidence(
  { moved: { move, points }, fit }: { readonly moved: Moved; readonly fit: GroundFit },
  sizes: Pair<Pixels>,
  map: Homography,
  plots: readonly Point[],
  freedPercent: number,
): NonNullable<Pick<Evidence, 'move'>> {
  const percent = 100 / Math.hypot(sizes.after.width, sizes.after.height);
  return {
    move: {
      surprise: move.surprise,
      parallax: move.parallax,
      agreeing: points.count,
      under: fit.under,
      within: fit.within,
      groundFit: fit.fit,
      offPercent: gap(map, fit.map, plots) * percent,
      freedPercent,
    },
  };
}

/** How far a ground let go may move: shift and affine part, perspective part (half-diagonals). */
const FREED = [0.03, 0.02] as const;
/** The same where only the plots and their edges are looked at. */
const OWN = [0.03, 0.02] as const;
const CLOSE_ROUND = 0.1;
/** From here on the turf inside the plots says enough to be asked where they are. */
const SPEAKS = { median: 0.1, z: 2, offset: 4 } as const;
/** A ground let go may look this much less the same and still be preferred for being surer. */
const NO_WORSE = 0.01;

/**
 * How far about the plots their surroundings are looked at when the camera's move holds the rest, as a share of their
 * extent.
 */
const AROUND = 0.5;

/** What the camera's move allows, as a change against the map at hand. */
function heldBy(fit: GroundFit, map: Homography, level: Pair<Planes>): SettleOptions['loose'] {
  const mean = changeBetween(toCopy(map, level), toCopy(fit.allowed.centre, level), level.before);
  return mean ? { mean, information: fit.allowed.information } : [0.05, 0.03];
}
