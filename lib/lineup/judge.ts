import 'server-only';
import { chanceAt, OFF_MODEL, SURE_ALONE } from '@/lib/photo/marks/off-model';
import type { Witness } from './witness';

/** What one closer look found. Percentages are of the photo's diagonal, at the worst of the plots' corners. */
export interface StepEvidence {
  /** Standard deviation the look leaves at that corner. */
  readonly sigmaPercent: number;
  /** Largest move when the witnesses of one part of the photo (about 1/90) are left out. */
  readonly withoutOnePercent: number;
  /** Share of the windows' information that agrees with the map, 0..1. */
  readonly agreement: number;
  /** Windows that said anything. */
  readonly sightings: number;
  /** How far the look moved the corners. */
  readonly movedPercent: number;
}

export interface Evidence {
  /** Looks at 400, 400 and 800 pixels. */
  readonly steps: readonly StepEvidence[];
  /** What the turf inside the plots says by itself at 400 pixels. */
  readonly turf: Witness;
  /** What its larger blotches say at 200 pixels, which a shadow's edge or new blades disturb less. */
  readonly blotches: Witness;
  /** What its colours alone say at 400 pixels; asked only where the turf plainly knows itself. */
  readonly colour?: Witness;
  /** Mean correlation, -1..1, of the blocks about the plots under the map, and of the best place a plot or so away. */
  readonly fit: number;
  readonly rivalFit: number;
  /** What the camera's move says; absent when the photos' lasting points don't agree on one. */
  readonly move?: {
    readonly surprise: number;
    /** Share of the long side. */
    readonly parallax: number;
    readonly agreeing: number;
    /** Shares of the lasting points under the ground, and in it. */
    readonly under: number;
    readonly within: number;
    readonly groundFit: number;
    /** How far the closer looks moved the corners off the move's ground. */
    readonly offPercent: number;
    /** How far they go when the move's hold is let go. */
    readonly freedPercent: number;
  };
  /** Share of the plots' corners that fall inside the later photo. */
  readonly cornersInFrame: number;
}

export interface Verdict {
  /** 'ok': outlines may be carried over without asking. 'taps': draw the guess and ask for four taps. */
  readonly status: 'ok' | 'taps';
  /** How far the answer is from the limit, 0..1: 0.5 stands at the limit, so 'ok' is 0.5 or more. Not a probability. */
  readonly confidence: number;
  /** Chance, by the fitted judge, that one of the plots' corners is off by more than 1 % of the diagonal, 0..1. */
  readonly offChance: number;
  /** What failed, in words; empty when 'ok'. */
  readonly reasons: readonly string[];
}

const within = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/** Logarithm of the odds that one of the plots' corners is off by more than 1 % of the diagonal. */
export function offOdds({ steps, turf, fit, rivalFit }: Evidence): number {
  const [, third, last] = steps;
  if (!third || !last) throw new RangeError(`judge: expected three looks, got ${steps.length}`);
  return (
    OFF_MODEL.constant +
    OFF_MODEL.sigma * Math.log(Math.max(0.05, last.sigmaPercent)) +
    OFF_MODEL.agreementAt400 * third.agreement +
    OFF_MODEL.agreement * last.agreement +
    OFF_MODEL.sightings * Math.log(Math.max(3, last.sightings)) +
    OFF_MODEL.turfZ * within(turf.z, -2, 10) +
    OFF_MODEL.turfOffset * within(turf.offset, 0, 8) +
    OFF_MODEL.overRival * overRival({ fit, rivalFit })
  );
}

const overRival = ({ fit, rivalFit }: Pick<Evidence, 'fit' | 'rivalFit'>): number =>
  Math.log(Math.max(0.02, fit) / Math.max(0.02, rivalFit));

/**
 * Where the photos lined up the other way round end at the same place: the log odds of both together, and of the worse
 * of them. Of 336 drawn pairs judged by a model that had not seen them none that ended so was off by more than 0.8 %, up
 * to odds of 1 together.
 */
const SURE_TOGETHER = -2;
/** Of both together where one was started from the other's end, and so says less. */
const STARTED_THERE = -6;
const WORSE_OF_TWO = 0;
/**
 * Least mean correlation of the turf inside the plots, over both directions: a shadow's edge can carry both astray
 * while the turf hardly knows itself.
 */
const TURF_KNOWS_ITSELF = 0.09;

/** Where one of these fails no odds help: what repeats, what nothing holds, what left the photo. */
const GUARDS = {
  /** The fit under the map over the best fit a plot or so away; right answers came to 1.3 and more. */
  overRival: 1.2,
  sightings: 12,
  /**
   * Pixels of the 400-pixel copy between where the turf by itself fits best and the answer; right ones trusted came to
   * 5 and less.
   */
  turfOffset: 6,
  cornersInFrame: 0.5,
  sigmaPercent: 0.75,
} as const;

/**
 * Blotches that know themselves. Of drawn answers right to 0.3 % nearly all came to more; of those off by more than 3 %
 * two in forty did, with hopeless odds.
 */
const BLOTCHES = { z: 2.4, offset: 1.5, median: 0.2 } as const;

const blotchesKnow = ({ z, offset, median }: Witness): boolean =>
  z >= BLOTCHES.z && offset <= BLOTCHES.offset && median >= BLOTCHES.median;

export function passesGuards({ steps, turf, blotches, cornersInFrame, fit, rivalFit }: Evidence): boolean {
  const last = steps.at(-1)!;
  const turfElsewhere = turf.offset > GUARDS.turfOffset && !blotchesKnow(blotches);
  return (
    fit > GUARDS.overRival * Math.max(0.02, rivalFit) &&
    last.sightings >= GUARDS.sightings &&
    !turfElsewhere &&
    cornersInFrame >= GUARDS.cornersInFrame &&
    last.sigmaPercent < GUARDS.sigmaPercent
  );
}

/** What is said of a refused answer, and from where on; words only, nothing is decided by them. */
function weaknesses({ steps, turf, cornersInFrame, fit, rivalFit }: Evidence): string[] {
  const [, third, last] = steps as readonly [StepEvidence, StepEvidence, StepEvidence];
  const said: readonly (readonly [boolean, string])[] = [
    [last.sigmaPercent > 0.4, 'the plot corners are not pinned down well enough'],
    [third.sigmaPercent > 0.75, 'too little of the photo holds the plot corners in place'],
    [last.movedPercent > 0.9, 'the last look still moved the outlines'],
    [Math.min(third.agreement, last.agreement) < 0.7, 'parts of the photo contradict each other'],
    [last.sightings < 22, 'too few things were found again in the later photo'],
    [turf.z < 2.4, 'the turf inside the plots does not recognise itself'],
    [turf.offset > 2.7, 'the turf inside the plots fits better somewhere else'],
    [fit < GUARDS.overRival * Math.max(0.02, rivalFit), 'the ground looks as much the same a plot further on'],
    [cornersInFrame < GUARDS.cornersInFrame, 'part of the plots lies outside the later photo'],
  ];
  const reasons = said.filter(([failed]) => failed).map(([, reason]) => reason);
  return reasons.length > 0 ? reasons : ['what was found again does not add up to certainty'];
}

/** How odds stand to a limit, 0..1: 0.5 at it. */
const confidenceAt = (odds: number, limit: number): number => 1 / (1 + Math.exp((odds - limit) / 2));

/** Decides whether a map is sure enough by itself to carry outlines over without asking. */
export function judge(evidence: Evidence): Verdict {
  const odds = offOdds(evidence);
  const sure = odds <= SURE_ALONE && passesGuards(evidence);
  const confidence = confidenceAt(odds, SURE_ALONE);
  return {
    status: sure ? 'ok' : 'taps',
    confidence: sure ? confidence : Math.min(0.49, confidence),
    offChance: chanceAt(odds),
    reasons: sure ? [] : weaknesses(evidence),
  };
}

/**
 * The turf inside the plots plainly knows itself: most of its windows recognise themselves where the map puts them, and
 * nowhere near as well elsewhere. Wrong answers had medians of up to 0.23 (mowing stripes), real pairs whose turf lasts
 * 0.4 and more.
 */
const PLAINLY = { median: 0.3, z: 2.5, offset: 2.5 } as const;

export function knowsItself({ median, z, offset }: Witness): boolean {
  return median >= PLAINLY.median && z >= PLAINLY.z && offset <= PLAINLY.offset;
}

/** Its colours as well: stripes of a mower, brought to lie on each other, had taken both directions 2 % astray. */
const COLOUR = { median: 0.2, z: 3, offset: 2.5 } as const;

const plainly = ({ turf, colour }: Evidence): boolean =>
  knowsItself(turf) &&
  colour !== undefined &&
  colour.median >= COLOUR.median &&
  colour.z >= COLOUR.z &&
  colour.offset <= COLOUR.offset;

/**
 * Where the turf plainly knows itself both ways, odds as bad as these leave only a little doubt of how far off, not
 * another place.
 */
const WORSE_BY_TURF = 2;
/**
 * How far apart the two directions end, percent of the diagonal at the worst place of the outlines that the later photo
 * shows.
 */
export interface Gaps {
  readonly maps: number;
  /** The same of where the plots' own turf puts them, where both directions have that. */
  readonly byTurf: number | undefined;
}

/** Ends as near as this are the same place. */
export const SAME_PLACE = 0.5;
/**
 * By the turf they may not be farther apart than this: with few landmarks both directions had gone 1 % astray, 0.4 %
 * apart, but their turf 0.95 %.
 */
const NEAR_PLACE = 0.8;
/**
 * Ends this near, by the turf as well, stand for a turf that hardly knows itself, and for some of the odds: of 34 drawn
 * pairs whose turf spoke both ways, the 25 that ended this near were off by 0.31 % at most.
 */
const VERY_NEAR = 0.25;
const FOR_BEING_NEAR = 1.5;

/**
 * The verdict on an answer that the other direction ends at or near too; undefined where both together are not sure
 * enough.
 * @param startedThere this direction was started from the other's end
 */
export function confirmed(
  evidence: Evidence,
  other: Evidence,
  { maps, byTurf }: Gaps,
  startedThere = false,
): Verdict | undefined {
  if (!passesGuards(evidence) || !passesGuards(other)) return undefined;
  const [odds, back] = [offOdds(evidence), offOdds(other)];
  const worse = Math.max(odds, back);
  const wider = Math.max(maps, byTurf ?? 0);
  const veryNear = byTurf !== undefined && wider <= VERY_NEAR;
  const known =
    (evidence.turf.mean + other.turf.mean) / 2 >= TURF_KNOWS_ITSELF ||
    veryNear ||
    (blotchesKnow(evidence.blotches) && blotchesKnow(other.blotches));
  const enough = startedThere ? STARTED_THERE : SURE_TOGETHER + (veryNear ? FOR_BEING_NEAR : 0);
  const byOdds = maps <= SAME_PLACE && wider <= NEAR_PLACE && odds + back <= enough && worse <= WORSE_OF_TWO && known;
  const byItsTurf =
    byTurf !== undefined && byTurf <= NEAR_PLACE && worse <= WORSE_BY_TURF && plainly(evidence) && plainly(other);
  if (!byOdds && !byItsTurf) return undefined;
  return {
    status: 'ok',
    confidence: Math.max(0.5, confidenceAt(odds, SURE_ALONE)),
    offChance: chanceAt(Math.min(odds, back)),
    reasons: [],
  };
}

/** The verdict on an answer that another one contradicts. */
export function contradicted(verdict: Verdict): Verdict {
  return {
    ...verdict,
    status: 'taps',
    confidence: Math.min(0.49, verdict.confidence),
    reasons: [...(verdict.status === 'ok' ? [] : verdict.reasons), 'two ways of lining up end at different places'],
  };
}
