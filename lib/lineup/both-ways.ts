import 'server-only';
import { applyHomography, IDENTITY, invertHomography, type Homography } from '@/lib/photo/ground/homography';
import { fitHomography } from '@/lib/photo/ground/homography-fit';
import type { Pixels, Point, Polygon } from '@/lib/photo/raster/pixels';
import { closeIn, type Answer } from './close-in';
import { confirmed, contradicted, knowsItself, offOdds, passesGuards, SAME_PLACE, type Gaps } from './judge';
import { middle, readyFor, turnedRound, type Looked, type RegisterOptions } from './pair-looked';
import { findMove, findStarts, groundStarts } from './starts';

/**
 * Every answer looked at closely, the likeliest first: those the camera's move gives, then, when none of them can be
 * trusted, the one a search on colours gives.
 */
export function oneWay(looked: Looked, options: RegisterOptions): Answer[] {
  const ready = readyFor(looked, options);
  const moved = findMove(looked, options);
  const answers: Answer[] = [];
  if (moved)
    for (const fit of groundStarts(ready, moved, looked.views, options))
      answers.push(closeIn(ready, fit.map, { moved, fit }));
  if (!answers.some((answer) => answer.verdict.status === 'ok' && !wantsWitness(answer))) {
    const starts = findStarts(ready);
    answers.push(closeIn(ready, starts[0]?.map ?? IDENTITY, undefined));
  }
  return answers.sort((a, b) => a.verdict.offChance - b.verdict.offChance);
}

/**
 * Few lasting points, or most of them in the ground itself, may place the ground a little off: the search on colours is
 * asked too.
 */
function wantsWitness({ evidence: { move } }: Answer): boolean {
  return move !== undefined && (move.surprise < 200 || move.within > 0.3);
}

/** Two answers further apart than this at a plot's corner are different answers, percent of the diagonal. */
const DIFFERENT = 0.7;
/** A different answer whose odds are not worse by this much (logarithm) is a rival. */
const RIVAL_ODDS = 1;
/** The other direction's answer must be as likely as this to give a new start. */
const SHOWS_THE_WAY = -2;

/** An answer with worse odds than these contradicts nothing. */
const HOPELESS = 1;

/**
 * The pair's answer out of one direction's, the likeliest first; asks the other direction where that doesn't settle it.
 */
export function decide(looked: Looked, answers: readonly Answer[], options: RegisterOptions): Answer {
  const { photos } = looked;
  const ready = readyFor(looked, options);
  const apart = (a: Homography, b: Homography): number => gapInSight(a, b, ready.outlines, photos.after);
  const hasRival = (answer: Answer): boolean =>
    answers.some(
      (other) =>
        apart(other.map, answer.map) > DIFFERENT &&
        offOdds(other.evidence) < offOdds(answer.evidence) + RIVAL_ODDS &&
        !outspoken(answer, other),
    );
  const best = answers[0]!;
  const contested = hasRival(best);
  if (best.verdict.status === 'ok' && !contested) return best;
  const refused = contested ? { ...best, verdict: contradicted(best.verdict) } : best;
  const other = otherWay(looked, best, options);
  if (!other) return refused;
  const [back, toAfter, ownToAfter] = other;
  const gapsFrom = (answer: Answer): Gaps => {
    const own = answer.own();
    return { maps: apart(answer.map, toAfter), byTurf: own && ownToAfter ? apart(own, ownToAfter) : undefined };
  };
  const gaps = gapsFrom(best);
  const verdict = confirmed(best.evidence, back.evidence, gaps);
  if (verdict) return { ...best, map: between(best, toAfter, ownToAfter, ready.outlines), verdict };
  if (gaps.maps <= SAME_PLACE) return refused;
  // It ends elsewhere. When it is much the likelier, this direction may never have come near: it is started from there.
  if (offOdds(back.evidence) <= SHOWS_THE_WAY && passesGuards(back.evidence)) {
    const again = closeIn(ready, toAfter, undefined);
    if (!hasRival(again) && apart(again.map, toAfter) <= SAME_PLACE) {
      if (again.verdict.status === 'ok') return again;
      const both = confirmed(again.evidence, back.evidence, gapsFrom(again), true);
      if (both) return { ...again, map: between(again, toAfter, ownToAfter, ready.outlines), verdict: both };
    }
  }
  return contested || offOdds(back.evidence) > HOPELESS ? refused : { ...best, verdict: contradicted(best.verdict) };
}

/** Where the turf plainly knows itself under one answer and not under another, that other one is no rival. */
function outspoken(answer: Answer, other: Answer): boolean {
  return (
    knowsItself(answer.evidence.turf) &&
    other.evidence.turf.median < 0.6 * answer.evidence.turf.median &&
    other.evidence.turf.z < answer.evidence.turf.z
  );
}

/** The middle of what the two directions say, with and without the plots' own turf. */
function between(
  best: Answer,
  toAfter: Homography,
  ownToAfter: Homography | undefined,
  outlines: readonly Polygon[],
): Homography {
  const own = best.own();
  const maps = [best.map, toAfter, ...(own && ownToAfter ? [own, ownToAfter] : [])];
  const from = outlines.flat();
  const to = from.map((p): Point => {
    const all = maps.map((map) => applyHomography(map, p));
    return [0, 1].map((k) => all.reduce((sum, q) => sum + q[k]!, 0) / all.length) as unknown as Point;
  });
  return fitHomography(from, to) ?? best.map;
}

/** Points along each side of an outline that are held against each other. */
const ALONG = 4;

/**
 * Largest distance between where two maps put the outlines' sides, as far as the later photo shows them; percent of its
 * diagonal.
 */
function gapInSight(a: Homography, b: Homography, outlines: readonly Polygon[], after: Pixels): number {
  let [most, seen] = [0, 0];
  for (const outline of outlines) {
    outline.forEach(([x, y], i) => {
      const [ex, ey] = outline[(i + 1) % outline.length]!;
      for (let k = 0; k < ALONG; k++) {
        const p: Point = [x + ((ex - x) * k) / ALONG, y + ((ey - y) * k) / ALONG];
        const [u, v] = [applyHomography(a, p), applyHomography(b, p)];
        if (![u, v].some(([px, py]) => px >= 0 && py >= 0 && px <= after.width - 1 && py <= after.height - 1)) continue;
        seen++;
        most = Math.max(most, Math.hypot(u[0] - v[0], u[1] - v[1]));
      }
    });
  }
  return seen === 0 ? Infinity : (100 * most) / Math.hypot(after.width, after.height);
}

/**
 * The likeliest answer of the photos lined up the other way round, and its maps turned back (its own turf's last);
 * undefined where the guess can't be followed.
 */
function otherWay(
  looked: Looked,
  best: Answer,
  options: RegisterOptions,
): [Answer, Homography, Homography | undefined] | undefined {
  const plots = options.plotCornersBefore?.length ? options.plotCornersBefore : [middle(looked.photos.before)];
  const moved = plots.map((plot) => plot.map((p) => applyHomography(best.map, p)));
  if (!moved.flat(2).every(Number.isFinite)) return undefined;
  const [back] = oneWay(turnedRound(looked), {
    plotCornersBefore: moved,
    plotMetresBefore: options.plotMetresBefore,
    ...(options.focal ? { focal: [options.focal[1], options.focal[0]] as const } : {}),
  });
  const toAfter = back && invertHomography(back.map);
  const own = toAfter && back.own();
  return toAfter ? [back, toAfter, (own && invertHomography(own)) ?? undefined] : undefined;
}
