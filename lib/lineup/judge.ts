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
  /** Looks at 200, 400, 400 and 800 pixels. */
  readonly steps: readonly StepEvidence[];
  /** What the turf inside the plots says by itself at 400 pixels. */
  readonly turf: Witness;
  readonly startScore: number;
  /** Score of the best start that lies elsewhere. */
  readonly rivalScore: number;
  /** Share of the plots' corners that fall inside the later photo. */
  readonly cornersInFrame: number;
}

export interface Verdict {
  readonly status: 'ok' | 'taps';
  readonly confidence: number;
  readonly reasons: readonly string[];
}

export function judge(evidence: Evidence): Verdict {
  const [, , third, last] = evidence.steps;
  const sure = third !== undefined && last !== undefined && third.sigmaPercent < 0.8 && third.agreement > 0.85 && last.sigmaPercent < 0.5;
  return { status: sure ? 'ok' : 'taps', confidence: sure ? 0.9 : 0.3, reasons: [] };
}
