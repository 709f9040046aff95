/** Turf is rated on whole or half points from 1 to 9. */
export const RATING_MIN = 1;
export const RATING_MAX = 9;
/** Minimum acceptable quality on the 1-9 scale (Shaddox & Unruh 2021, HortTechnology 31:470). */
export const RATING_ACCEPTABLE = 6;

/** The ends and the middle mark of the scale in words (Shaddox & Unruh 2021, HortTechnology 31:470). */
export const RATING_WORDS: Readonly<Record<number, string>> = {
  1: 'dead or brown',
  6: 'just acceptable',
  9: 'the best there is',
};
