/**
 * How often lining up was trusted, and how far it was off, measured once with this method (2026-11-27). Few pairs: read
 * them with their counts. Errors are of the worst plot corner, percent of the photo's diagonal.
 */
export const LINING_UP_FIGURES = {
  /** Hand-held photos of the same real ground on two dates: pairs, those trusted, those trusted and visibly wrong. */
  real: { pairs: 21, trusted: 11, wrong: 0 },
  /** Real photos of two different places: pairs, those trusted. */
  other: { pairs: 2, trusted: 0 },
  /**
   * Cross-validation over pairs of drawn lawns, several photos of each in other light and from other places: the judge
   * fitted on seven eighths of the lawns decides on the rest, both directions asked as the program asks them; answers it
   * was fitted on, and how many of those were off by more than 1 %.
   */
  judge: {
    pairs: 336,
    lawns: 84,
    trusted: 213,
    trustedOff: 0,
    worstTrustedPercent: 0.77,
    refusedThoughRight: 45,
    answers: 1330,
    answersOff: 451,
  },
  /** The judge before it, fitted on the answers of 44 pairs, on 288 of these, drawn after it: what it was worth unseen. */
  judgeBefore: { pairs: 288, trusted: 172, trustedOff: 0, worstTrustedPercent: 0.77 },
  /** Drawn lawns with nothing around them, looked at whole by the program as it is; they are among the 336. */
  drawn: { pairs: 48, trusted: 34, off: 0, worstTrustedPercent: 0.27, refusedThoughRight: 5 },
  /**
   * Drawn lawns with four plot cards on their corner pegs, laid anew on each date some 4 mm off, one of them half
   * covered in a third of the pairs; those refused show one card or two in the later photo.
   */
  cards: { pairs: 48, trusted: 42, off: 0, worstTrustedPercent: 0.33 },
} as const;
