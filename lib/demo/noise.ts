/**
 * Noise for drawing: the same place and seed give the same number, in any order of asking. The project's generator
 * (lib/stats/random.ts) gives sequences; a picture needs a number for a place.
 */

/** A number 0 <= x < 1 for a whole-numbered place and a seed. */
export function hashUnit(x: number, y: number, seed: number): number {
  let h = Math.imul(x | 0, 0x27d4eb2d) ^ Math.imul(y | 0, 0x165667b1) ^ Math.imul(seed | 0, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

/** Smooth noise -1..1 over a unit lattice, mean about 0. */
export function smoothNoise(x: number, y: number, seed: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const u = fade(x - x0);
  const v = fade(y - y0);
  const top = hashUnit(x0, y0, seed) * (1 - u) + hashUnit(x0 + 1, y0, seed) * u;
  const bottom = hashUnit(x0, y0 + 1, seed) * (1 - u) + hashUnit(x0 + 1, y0 + 1, seed) * u;
  return 2 * (top * (1 - v) + bottom * v) - 1;
}

function fade(t: number): number {
  return t * t * (3 - 2 * t);
}

/** A quick stream of numbers 0 <= x < 1 for strokes by the hundred thousand (xorshift32). */
export function strokeStream(seed: number): () => number {
  let state = Math.imul(seed ^ 0x5bd1e995, 0x9e3779b1) | 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 4294967296;
  };
}
