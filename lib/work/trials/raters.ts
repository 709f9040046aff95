import 'server-only';
import { nameKeyOf } from '@/lib/diary/people';

/** True where two names are one person's, however they were typed. */
export const isSameRater = (a: string, b: string): boolean => nameKeyOf(a) === nameKeyOf(b);

/** Ratings in the order given, each rater called as they were first written down. */
export function withRatersAsFirstWritten<T extends { readonly rater: string }>(ratings: readonly T[]): T[] {
  const names = new Map<string, string>();
  return ratings.map((rating) => {
    const key = nameKeyOf(rating.rater);
    const rater = names.get(key) ?? rating.rater.trim();
    names.set(key, rater);
    return { ...rating, rater };
  });
}
