/**
 * What happened, in one plain sentence or two, made of figures that stand on the pages already: no number is worked out
 * here. The answer is data, so that every piece can lead to what it rests on and what isn't sure can be seen to be
 * unsure.
 */
/** What a piece of the answer rests on. */
export type EvidenceOf =
  | { readonly kind: 'photo' | 'mark' | 'spray' | 'analysis'; readonly id: string }
  | { readonly kind: 'method'; readonly topic: 'change' | 'marks' | 'causes' | 'trials' }
  | { readonly kind: 'plan'; readonly address: string };

export interface AnswerPart {
  readonly text: string;
  readonly evidence?: EvidenceOf;
  /** 'unsure' where the figures can't tell, or where nobody has looked; plain words have neither. */
  readonly sureness?: 'sure' | 'unsure';
}

export type Answer = readonly AnswerPart[];

export interface AnswerFigure {
  readonly value: number;
  /** 95 %; null where the ground compared is too small to say. */
  readonly low95: number | null;
  readonly high95: number | null;
}

/** One photo's (or day's) figure of one plot against its check. */
export interface AnswerPoint {
  readonly evidence: EvidenceOf;
  /** '3 days after', 'on day 3': when, as it follows a comma. */
  readonly when: string;
  /** Null where `refused` says why. */
  readonly figure: AnswerFigure | null;
  readonly refused: string | null;
}

export interface PlotStory {
  readonly name: string;
  /** Oldest first. */
  readonly points: readonly AnswerPoint[];
  /** How the plot stood in the last photo before the spray, where the same series had sprays before it. */
  readonly before: { readonly evidence: EvidenceOf; readonly figure: AnswerFigure } | null;
}

/** How a figure stands to nothing, by its 95 % interval. */
export type Standing = 'darker' | 'paler' | 'not-told' | 'no-interval';

/**
 * 'not-told' when the interval holds 0, so that the plot can't be told from the check.
 * Exported for its edges: an interval that touches 0.
 */
export function standingOf({ value, low95, high95 }: AnswerFigure): Standing {
  if (low95 === null || high95 === null) return 'no-interval';
  if (low95 > 0 && value > 0) return 'darker';
  return high95 < 0 && value < 0 ? 'paler' : 'not-told';
}
