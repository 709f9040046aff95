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
   * Drawn lawns with nothing around them, whose map is known: most of them are among those the judge was fitted on; `unseen` counts those
   * drawn afterwards. The one trusted and off (1.2 %, a hard shadow's edge) has since taught a guard that refuses it; measured before that.
   */
  drawn: { pairs: 56, trusted: 40, off: 1, worstTrustedPercent: 1.19, refusedThoughRight: 6, unseen: { pairs: 12, trusted: 12, off: 1 } },
} as const;
