/**
 * How often lining up was trusted, and how far it was off, measured once with this method (2026-11-26). Few pairs: read them with
 * their counts. Errors are of the worst plot corner, percent of the photo's diagonal.
 */
export const LINING_UP_FIGURES = {
  /** Hand-held photos of the same real ground on two dates: pairs, those trusted, those trusted and visibly wrong. */
  real: { pairs: 21, trusted: 9, wrong: 0 },
  /** Real photos of two different places: pairs, those trusted. */
  other: { pairs: 2, trusted: 0 },
  /** Cross-validation over drawn pairs: the judge fitted on the others decides on each; answers it was fitted on, and how many of those were off by more than 1 %. */
  judge: { pairs: 44, trusted: 30, trustedOff: 0, answers: 178, answersOff: 58 },
  /**
   * Drawn lawns with nothing around them, whose map is known, by the method as it stands: most of them are among those the judge was
   * fitted on; `unseen` counts those drawn afterwards, the plainer half of the kinds.
   */
  drawn: { pairs: 54, trusted: 38, off: 0, worstTrustedPercent: 0.43, refusedThoughRight: 6, unseen: { pairs: 10, trusted: 10, off: 0 } },
} as const;
