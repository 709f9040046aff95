/**
 * The only source of chance in the project: a generator that gives the same numbers for the same seed, everywhere.
 * xoshiro128** 1.1: period 2^128 - 1, passes the usual test batteries; not for secrets.
 * @see Blackman & Vigna 2021, Scrambled linear pseudorandom number generators, ACM Trans Math Softw 47(4):36,
 *   doi:10.1145/3460772; reference code (public domain) prng.di.unimi.it/xoshiro128starstar.c
 */
export interface Random {
  /** A whole number 0 .. 2^32 - 1. */
  nextUint32(): number;
  /** A number 0 <= x < 1 in steps of 2^-32. */
  next(): number;
  /** A whole number 0 .. count - 1, each as likely as the next to within count / 2^32. */
  below(count: number): number;
  /** A number from the normal distribution with mean 0 and standard deviation 1. */
  normal(): number;
  /** A new list with the same entries in random order. */
  shuffled<T>(list: readonly T[]): T[];
}

type State = [number, number, number, number];

/**
 * @param seed a whole number 0 .. 2^53 - 1, or any text; the same seed gives the same numbers
 * @throws RangeError for a number that isn't such a whole number
 */
export function seededRandom(seed: number | string): Random {
  if (typeof seed === 'number' && !(Number.isSafeInteger(seed) && seed >= 0)) {
    throw new RangeError(`seed: expected a whole number from 0 to 2^53 - 1, got ${seed}`);
  }
  return randomFromState(expand(typeof seed === 'number' ? `#${seed}` : seed));
}

/**
 * The generator started from a given state of four 32-bit words, not all zero: for checks against the reference code.
 */
export function randomFromState(state: readonly [number, number, number, number]): Random {
  // 32-bit words: kept as such, the generator takes half the time it takes with plain numbers.
  const s = Int32Array.from(state);
  if (s.every((word) => word === 0))
    throw new RangeError('state: expected at least one word that is not 0, got four zeros');

  function nextUint32(): number {
    const [s0, s1, s2, s3] = [s[0]!, s[1]!, s[2]!, s[3]!];
    const mixed2 = s2 ^ s0;
    const mixed3 = s3 ^ s1;
    s[0] = s0 ^ mixed3;
    s[1] = s1 ^ mixed2;
    s[2] = mixed2 ^ (s1 << 9);
    s[3] = rotl(mixed3, 11);
    return Math.imul(rotl(Math.imul(s1, 5), 7), 9) >>> 0;
  }
  const next = (): number => nextUint32() / 2 ** 32;
  function below(count: number): number {
    if (!(Number.isInteger(count) && count >= 1 && count <= 2 ** 32)) {
      throw new RangeError(`count: expected a whole number from 1 to 2^32, got ${count}`);
    }
    return Math.floor(next() * count);
  }
  /** Box & Muller 1958, Ann Math Stat 29:610-611; the second number of each pair is dropped. */
  function normal(): number {
    return Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
  }
  /** Fisher & Yates, as in Knuth 1997, TAOCP vol. 2, algorithm 3.4.2 P. */
  function shuffled<T>(list: readonly T[]): T[] {
    const out = [...list];
    for (let i = out.length - 1; i > 0; i--) {
      const j = below(i + 1);
      [out[i], out[j]] = [out[j] as T, out[i] as T];
    }
    return out;
  }
  return { nextUint32, next, below, normal, shuffled };
}

function rotl(x: number, k: number): number {
  return (x << k) | (x >>> (32 - k));
}

/**
 * Four well-mixed words of a text: a running FNV-1a hash, each word finished with the 32-bit finaliser of MurmurHash3.
 */
function expand(text: string): State {
  let hash = 0x811c9dc5;
  for (const byte of new TextEncoder().encode(text)) hash = Math.imul(hash ^ byte, 0x01000193);
  const words = [0, 1, 2, 3].map((i) => mix(hash + Math.imul(i + 1, 0x9e3779b9))) as State;
  return words.every((word) => word === 0) ? [1, 0, 0, 0] : words;
}

function mix(word: number): number {
  let h = word;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}
