/** How much a check weighs: `over-label` asks for a typed reason, `never` is a danger to people. */
export type CheckLevel = 'clear' | 'note' | 'caution' | 'over-label' | 'never';

export const LABEL = "the product's label, as entered";

export type CheckCode =
  | 'label-not-entered'
  | 'label-rate'
  | 'label-carrier'
  | 'label-temperature'
  | 'label-rainfast'
  | 'label-watering'
  | 'label-mowing'
  | 're-entry'
  | 'label-interval'
  | 'label-season-amount'
  | 'label-season-applications'
  | 'role-interval'
  | 'iron-rate'
  | 'foliar-nitrogen-rate'
  | 'salt-strength'
  | 'surfactant-with-ammonium'
  | 'heat'
  | 'carrier-volume'
  | 'acid-with-chlorine'
  | 'oxidiser-with-ammonium'
  | 'peroxide-with-iron'
  | 'iron-with-phosphate'
  | 'calcium-with-sulfate'
  | 'calcium-with-phosphate'
  | 'check-sprayed'
  | 'plots-overlap'
  | 'ground-unknown'
  | 'iron-in-high-ph'
  | 'humic-in-acid'
  | 'hard-surfaces'
  | 'phosphorus-rules';

/** One check before spraying: what it looked at, how that stands, and what would fix it. */
export interface Check {
  readonly code: CheckCode;
  readonly level: CheckLevel;
  /** The product or plot it is about; empty for the mix as a whole. */
  readonly subject: string;
  /** The number looked at and the one it is held against, both in `unit`; null where the check has none. */
  readonly value: number | null;
  readonly limit: number | null;
  readonly unit: string;
  /** Where the limit comes from; `COMMON_PRACTICE` when nothing was published. */
  readonly source: string;
  /** One sentence with the numbers. */
  readonly sentence: string;
  /** What would fix it; empty when clear. */
  readonly fix: string;
}

const WEIGHT: Readonly<Record<CheckLevel, number>> = { never: 0, 'over-label': 1, caution: 2, note: 3, clear: 4 };

/** Checks with the gravest first; those of one level keep their order. */
export function gravestFirst(checks: readonly Check[]): readonly Check[] {
  return [...checks].sort((a, b) => WEIGHT[a.level] - WEIGHT[b.level]);
}

/** The checks past a label limit: each needs a typed reason before the plan may become a spray. */
export function needingReason(checks: readonly Check[]): readonly Check[] {
  return checks.filter((check) => check.level === 'over-label');
}
