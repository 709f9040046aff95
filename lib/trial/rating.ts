/** Turf is rated on whole or half points from 1 to 9. */
export const RATING_MIN = 1;
export const RATING_MAX = 9;
const RATING_STEP = 0.5;
/** Minimum acceptable quality on the 1-9 scale (Shaddox & Unruh 2021, HortTechnology 31:470). */
export const RATING_ACCEPTABLE = 6;

/** All ratings of the scale in order. */
export const RATING_SCALE: readonly number[] = Array.from(
  { length: (RATING_MAX - RATING_MIN) / RATING_STEP + 1 },
  (_, i) => RATING_MIN + i * RATING_STEP,
);

/** The ends and the middle mark of the scale in words (Shaddox & Unruh 2021, HortTechnology 31:470). */
export const RATING_WORDS: Readonly<Record<number, string>> = {
  1: 'dead or brown',
  6: 'just acceptable',
  9: 'the best there is',
};

/** A rating of the scale. @throws RangeError for anything else. */
export function expectRating(value: number): number {
  if (!RATING_SCALE.includes(value))
    throw new RangeError(`rating: expected ${RATING_MIN} to ${RATING_MAX} in steps of ${RATING_STEP}, got ${value}`);
  return value;
}
