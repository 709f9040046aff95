import 'server-only';
import { WORDS, type Features } from './features';
import { nearestSimd } from './features-simd';
import { firstAtLeast } from '@/lib/photo/marks/first-at-least';

/** Points of two photos that took each other for their nearest, best first. */
export interface Matches {
  readonly count: number;
  /** Index of the point in the first and in the second photo. */
  readonly first: Int32Array;
  readonly second: Int32Array;
  /** Distance to the nearest over distance to the second nearest, 0..1: the lower the surer. */
  readonly ratio: Float32Array;
}

export interface MatchOptions {
  /** The nearest must be nearer than this share of the second nearest. */
  readonly ratio?: number;
  /** Furthest a point may have moved between the photos, as a share of the second photo's diagonal. */
  readonly reach?: number;
}

/** Blob sizes may differ by this factor between two photos from about the same place. */
const SIZE_FACTOR = 2.1;

/**
 * Mutual nearest neighbours by the number of differing bits, kept where the second nearest is clearly farther (Lowe
 * 2004). Only points of like size, not further apart than `reach`, are compared.
 */
export function matchFeatures(first: Features, second: Features, options: MatchOptions = {}): Matches {
  const limit = options.ratio ?? 0.88;
  const scale = second.width / first.width;
  const reach = (options.reach ?? 0.45) * Math.hypot(second.width, second.height);
  // By size, then from top to bottom: what can't match by its size is never looked at.
  const order = Int32Array.from({ length: second.count }, (_, j) => j).sort(
    (a, b) => second.size[a]! - second.size[b]! || second.y[a]! - second.y[b]!,
  );
  const ys = Float32Array.from(order, (j) => second.y[j]!);
  const groups = groupsOf(order, second.size, ys);
  const xs = Float32Array.from(order, (j) => second.x[j]!);
  const theirs = new Int32Array(second.count * WORDS);
  for (let q = 0; q < order.length; q++)
    theirs.set(second.words.subarray(order[q]! * WORDS, (order[q]! + 1) * WORDS), q * WORDS);
  const nearest = new Int32Array(first.count).fill(-1);
  const best = new Uint16Array(first.count).fill(999);
  const next = new Uint16Array(first.count).fill(999);
  const many = { words: theirs, x: xs };
  const search = nearestSimd(many);
  for (let i = 0; i < first.count; i++) {
    const [x, y] = [first.x[i]! * scale, first.y[i]! * scale];
    const size = first.size[i]! * scale;
    search.begin(first.words, i * WORDS, i);
    for (const group of groups) {
      if (group.size < size / SIZE_FACTOR || group.size > size * SIZE_FACTOR) continue;
      const found = search.among(
        group.from + firstAtLeast(group.ys, y - reach),
        group.from + firstAtLeast(group.ys, y + reach),
        x,
        reach,
      );
      nearest[i] = found[0];
      best[i] = found[1];
      next[i] = found[2];
    }
  }
  const back = search.back();
  const kept: { i: number; q: number; ratio: number }[] = [];
  for (let i = 0; i < first.count; i++) {
    const q = nearest[i]!;
    if (q < 0 || back[q] !== i) continue;
    const ratio = best[i]! / Math.max(1, next[i]!);
    if (ratio < limit) kept.push({ i, q, ratio });
  }
  kept.sort((a, b) => a.ratio - b.ratio || a.i - b.i);
  return {
    count: kept.length,
    first: Int32Array.from(kept, (m) => m.i),
    second: Int32Array.from(kept, (m) => order[m.q]!),
    ratio: Float32Array.from(kept, (m) => m.ratio),
  };
}

/** Points of one size, and where they begin in the order. */
interface Group {
  readonly size: number;
  readonly from: number;
  /** From top to bottom. */
  readonly ys: Float32Array;
}

function groupsOf(order: Int32Array, size: Float32Array, ys: Float32Array): Group[] {
  const groups: Group[] = [];
  for (let from = 0; from < order.length;) {
    let to = from + 1;
    while (to < order.length && size[order[to]!] === size[order[from]!]) to++;
    groups.push({ size: size[order[from]!]!, from, ys: ys.subarray(from, to) });
    from = to;
  }
  return groups;
}

/** Number of bits in which two descriptors differ. */
export function bitsApart(a: Int32Array, i: number, b: Int32Array, j: number): number {
  let total = 0;
  for (let k = 0; k < WORDS; k += 2) {
    // Two words at once: sums of bit pairs, then of nibbles, are small enough to be added before the last step.
    let v = a[i + k]! ^ b[j + k]!;
    let u = a[i + k + 1]! ^ b[j + k + 1]!;
    v -= (v >>> 1) & 0x55555555;
    u -= (u >>> 1) & 0x55555555;
    v = (v & 0x33333333) + ((v >>> 2) & 0x33333333) + (u & 0x33333333) + ((u >>> 2) & 0x33333333);
    v = (v & 0x0f0f0f0f) + ((v >>> 4) & 0x0f0f0f0f);
    total += Math.imul(v, 0x01010101) >>> 24;
  }
  return total;
}
