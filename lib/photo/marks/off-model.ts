/**
 * Logistic model of P(worst plot corner off by more than 1 % of the diagonal), fitted with a ridge of 1 on standardised
 * evidence (Hosmer & Lemeshow 2000, ch. 1): see `LINING_UP_FIGURES.judge` for on how much, and what cross-validation
 * says of it. Percentages and ratios enter by their logarithm.
 */
export const OFF_MODEL = {
  constant: 28.12,
  /** Standard deviation at the worst corner, percent, at least 0.05: after the last look. */
  sigma: 3.82,
  /** Agreement of the look at 400 pixels, and of the last. */
  agreementAt400: -3.83,
  agreement: -11.5,
  sightings: -1.68,
  /** The turf's own witness, -2..10 standard deviations, 0..8 pixels. */
  turfZ: -0.348,
  turfOffset: 0.204,
  overRival: -2.23,
} as const;

/** Log odds up to which an answer is trusted by itself: a chance of 1.1 %. */
export const SURE_ALONE = -4.5;

/** The chance that odds stand for, 0..1. */
export const chanceAt = (odds: number): number => 1 / (1 + Math.exp(-odds));
