import type { Random } from '@/lib/stats/random';

/** One thing to rate, without its name: only a number for this round of rating. */
export interface BlindItem<T> {
  /** 1, 2, 3 … in the order of showing. */
  readonly number: number;
  readonly item: T;
  /** True when this strip was already shown once: the pair tells how well a rater agrees with themselves. */
  readonly repeat: boolean;
}

/**
 * Strips in random order for blind rating. `repeats` of them (0 to all) come back once more in the second half,
 * so that a rater's own repeatability can be seen.
 */
export function blindOrder<T>(items: readonly T[], random: Random, repeats = 0): BlindItem<T>[] {
  if (!Number.isInteger(repeats) || repeats < 0 || repeats > items.length) {
    throw new RangeError(`repeats: expected a whole number from 0 to ${items.length}, got ${repeats}`);
  }
  const first = random.shuffled(items);
  const again = random.shuffled(items).slice(0, repeats);
  const firstHalf = first.slice(0, Math.ceil(first.length / 2));
  const rest = first.slice(firstHalf.length).map((item) => ({ item, repeat: false }));
  // A repeat may only follow its first showing, so those shown late return at the very end.
  const early = again.filter((item) => firstHalf.includes(item)).map((item) => ({ item, repeat: true }));
  const late = again.filter((item) => !firstHalf.includes(item)).map((item) => ({ item, repeat: true }));
  const order = [
    ...firstHalf.map((item) => ({ item, repeat: false })),
    ...random.shuffled([...rest, ...early]),
    ...late,
  ];
  return order.map(({ item, repeat }, i) => ({ number: i + 1, item, repeat }));
}
