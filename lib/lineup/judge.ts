import 'server-only';
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
  /**
   * How far the weakest of the checks is from its limit, 0..1: 0.5 stands at the limit, so 'ok' is 0.5 or more. Not a
   * probability.
   */
  readonly confidence: number;
  /** What failed, in words; empty when 'ok'. */
  readonly reasons: readonly string[];
}

/**
 * Limits of the checks. Set on drawn photo pairs with known maps (right pairs, right pairs warped and re-exposed, and
 * pairs of different lawns): right answers within 1 % of the diagonal pass, others don't.
 */
const LIMITS = {
  /** Standard deviation at the worst plot corner, percent of the diagonal: after the 800-pixel and the 400-pixel look. */
  sigmaPercent: 0.4,
  sigmaPercentAt400: 0.75,
  /** The same when a corner has left the later photo, so that nothing beyond it holds it. */
  sigmaPercentOutside: 0.3,
  cornersInFrame: 0.5,
  movedPercent: 0.9,
  agreement: 0.78,
  /** The same where the camera's move holds the map: windows on a hedge or a bin beside the plots then can't pull it. */
  agreementHeld: 0.7,
  /** The fit under the map over the best fit a plot or so away. */
  overRival: 1.2,
  sightings: 22,
  turfZ: 2.4,
  turfOffset: 2.7,
} as const;

/** Decides whether a map is sure enough to carry outlines over without asking. */
export function judge({ steps, turf, cornersInFrame, fit, rivalFit, move }: Evidence): Verdict {
  const [, third, last] = steps;
  if (!third || !last) throw new RangeError(`judge: expected three looks, got ${steps.length}`);
  const outside = cornersInFrame < 1;
  const checks: readonly (readonly [number, string])[] = [
    [below(last.sigmaPercent, outside ? LIMITS.sigmaPercentOutside : LIMITS.sigmaPercent), 'the plot corners are not pinned down well enough'],
    [below(third.sigmaPercent, LIMITS.sigmaPercentAt400), 'too little of the photo holds the plot corners in place'],
    [below(last.movedPercent, LIMITS.movedPercent), 'the last look still moved the outlines'],
    [below(1 - third.agreement, 1 - (move ? LIMITS.agreementHeld : LIMITS.agreement)), 'parts of the photo contradict each other'],
    [above(last.sightings, LIMITS.sightings), 'too few things were found again in the later photo'],
    [above(turf.z, LIMITS.turfZ), 'the turf inside the plots does not recognise itself'],
    [below(turf.offset, LIMITS.turfOffset), 'the turf inside the plots fits better somewhere else'],
    [above(fit / Math.max(0.02, rivalFit), LIMITS.overRival), 'the ground looks as much the same a plot further on'],
    [below(1 - cornersInFrame, 1 - LIMITS.cornersInFrame), 'part of the plots lies outside the later photo'],
  ];
  const confidence = Math.min(...checks.map(([score]) => score));
  return {
    status: confidence >= 0.5 ? 'ok' : 'taps',
    confidence,
    reasons: checks.filter(([score]) => score < 0.5).map(([, reason]) => reason),
  };
}

/** 1 far below the limit, 0.5 at it, towards 0 above. */
function below(value: number, limit: number): number {
  return 1 / (1 + (Math.max(0, value) / limit) ** 3);
}

/** 1 far above the limit, 0.5 at it, towards 0 below. */
function above(value: number, limit: number): number {
  return value <= 0 ? 0 : 1 / (1 + (limit / value) ** 3);
}
