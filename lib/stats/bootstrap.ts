import { expectAtLeast, expectInRange, expectWhole } from '../expect';
import { quantileOfSorted } from './describe';
import { seededRandom } from './random';

/** One block of neighbouring observations: how many, and the sum of their values. */
export interface BlockSum {
  readonly count: number;
  readonly sum: number;
}

export interface BootstrapOptions {
  /** Share of intervals that should hold the truth, 0..1; 0.95 unless told. */
  readonly level?: number;
  /** How many resamples; 2000 unless told. */
  readonly resamples?: number;
  readonly seed: number | string;
}

export interface BootstrapInterval {
  readonly estimate: number;
  readonly low: number;
  readonly high: number;
  /** Standard deviation of the resampled estimates, widened for few blocks. */
  readonly standardError: number;
  /** The fewest blocks behind any of the means. */
  readonly blocks: number;
}

/**
 * One mean in a contrast: coefficient times (sum of sums / sum of counts). Means in one group are resampled together,
 * block by block (the same block of ground in two photos); groups are resampled apart.
 */
export interface ContrastTerm {
  readonly coefficient: number;
  readonly blocks: readonly BlockSum[];
}

/**
 * Block bootstrap of a mean: whole blocks are drawn with replacement, so likeness within a block doesn't count as
 * evidence; percentile interval, stretched about the estimate by sqrt(n / (n - 1)) for the fewest blocks n.
 * Holds where blocks are as large as the likeness reaches, and from about 8 blocks; below that it runs narrow.
 * @throws RangeError for fewer than two blocks or no observations
 * @see Künsch 1989, Ann Stat 17:1217-1241; Davison & Hinkley 1997, Bootstrap Methods, section 8.3 (spatial blocks) and
 *   2.5.2 (the stretch)
 */
export function blockBootstrapMean(blocks: readonly BlockSum[], options: BootstrapOptions): BootstrapInterval {
  return blockBootstrapContrast([[{ coefficient: 1, blocks }]], options);
}

/** Block bootstrap of mean(a) - mean(b), the two resampled apart. @throws RangeError as for a mean */
export function blockBootstrapDifference(
  a: readonly BlockSum[],
  b: readonly BlockSum[],
  options: BootstrapOptions,
): BootstrapInterval {
  return blockBootstrapContrast([[{ coefficient: 1, blocks: a }], [{ coefficient: -1, blocks: b }]], options);
}

/**
 * Block bootstrap of any sum of coefficient times mean. For a plot's change against the check's change: two groups,
 * each with the after photo's blocks (+1, -1) and the before photo's blocks (-1, +1) in the same order.
 * Exported for contrasts whose variance is known by hand.
 * @throws RangeError when a group is empty, its terms differ in their number of blocks, a term has fewer than two
 *   blocks or no observations
 */
export function blockBootstrapContrast(
  groups: readonly (readonly ContrastTerm[])[],
  { level = 0.95, resamples = 2000, seed }: BootstrapOptions,
): BootstrapInterval {
  expectInRange('level', level, 0.5, 0.999, '');
  expectWhole('resamples', resamples, 100, 1_000_000);
  expectAtLeast('groups', groups, 1);
  let estimate = 0;
  let fewest = Infinity;
  for (const group of groups) {
    expectAtLeast('group', group, 1);
    const n = (group[0] as ContrastTerm).blocks.length;
    fewest = Math.min(fewest, n);
    for (const { coefficient, blocks } of group) {
      expectAtLeast('blocks', blocks, 2);
      if (blocks.length !== n)
        throw new RangeError(`blocks: expected ${n}, as many as in the other terms of the group, got ${blocks.length}`);
      estimate += coefficient * blockMean(blocks);
    }
  }
  const flat = groups.map((group) => ({
    terms: group.map(flatTerm),
    chosen: new Int32Array((group[0] as ContrastTerm).blocks.length),
  }));
  const [only, ...others] = flat as [(typeof flat)[number]];
  // With something in every block no draw is drawn again, and of one group the draws hang on nothing but seed and
  // numbers.
  const alike =
    others.length === 0 && only.terms.every(({ counts }) => counts.every((count) => count > 0))
      ? choicesFor(seed, resamples, fewest)
      : null;
  const draws = alike ? drawAlike(only.terms, alike, resamples) : new Float64Array(resamples);
  if (!alike) {
    const { nextUint32 } = seededRandom(seed);
    for (let i = 0; i < resamples; i++) {
      let value = 0;
      for (const { terms, chosen } of flat) value += drawGroup(terms, chosen, nextUint32);
      draws[i] = value;
    }
  }
  draws.sort();
  const stretch = Math.sqrt(fewest / (fewest - 1));
  const tail = (1 - level) / 2;
  const mean = draws.reduce((sum, d) => sum + d, 0) / resamples;
  const variance = draws.reduce((sum, d) => sum + (d - mean) ** 2, 0) / (resamples - 1);
  return {
    estimate,
    low: estimate + stretch * (quantileOfSorted(draws, tail) - estimate),
    high: estimate + stretch * (quantileOfSorted(draws, 1 - tail) - estimate),
    standardError: stretch * Math.sqrt(variance),
    blocks: fewest,
  };
}

/** Mean over all observations of some blocks. @throws RangeError without any */
export function blockMean(blocks: readonly BlockSum[]): number {
  let count = 0;
  let sum = 0;
  for (const block of blocks) {
    count += block.count;
    sum += block.sum;
  }
  if (!(count > 0)) throw new RangeError('blocks: expected at least one observation, got none');
  return sum / count;
}

interface FlatTerm {
  readonly coefficient: number;
  readonly counts: Float64Array;
  readonly sums: Float64Array;
}

function flatTerm({ coefficient, blocks }: ContrastTerm): FlatTerm {
  return {
    coefficient,
    counts: Float64Array.from(blocks, (block) => block.count),
    sums: Float64Array.from(blocks, (block) => block.sum),
  };
}

/**
 * The blocks chosen by all resamples, one after another, of the last few seeds and sizes: many plots of many photos ask
 * for the same.
 */
const known = new Map<string, Uint16Array>();
const KEPT = 8;
/** More choices than this are drawn anew each time: 2000 resamples of 250 blocks, a megabyte. */
const MOST_CHOICES = 500_000;

function choicesFor(seed: number | string, resamples: number, blocks: number): Uint16Array | null {
  if (resamples * blocks > MOST_CHOICES) return null;
  const key = `${typeof seed} ${seed} ${resamples} ${blocks}`;
  let chosen = known.get(key);
  if (chosen === undefined) {
    const { nextUint32 } = seededRandom(seed);
    const perBlock = blocks / 2 ** 32;
    chosen = new Uint16Array(resamples * blocks);
    for (let i = 0; i < chosen.length; i++) chosen[i] = Math.floor(nextUint32() * perBlock);
    if (known.size >= KEPT) known.delete(known.keys().next().value as string);
    known.set(key, chosen);
  }
  return chosen;
}

/** All resamples of one group with the blocks chosen: the same sums in the same order as drawGroup makes. */
function drawAlike(terms: readonly FlatTerm[], chosen: Uint16Array, resamples: number): Float64Array {
  const draws = new Float64Array(resamples);
  const n = chosen.length / resamples;
  for (const { coefficient, counts, sums } of terms) {
    for (let i = 0, at = 0; i < resamples; i++) {
      let count = 0;
      let sum = 0;
      for (const end = at + n; at < end; at++) {
        const block = chosen[at] as number;
        count += counts[block] as number;
        sum += sums[block] as number;
      }
      draws[i] = (draws[i] as number) + (coefficient * sum) / count;
    }
  }
  return draws;
}

/** One resample of a group. A draw in which some mean would have no observations is drawn again. */
function drawGroup(group: readonly FlatTerm[], chosen: Int32Array, nextUint32: () => number): number {
  const n = chosen.length;
  const perBlock = n / 2 ** 32;
  for (;;) {
    for (let draw = 0; draw < n; draw++) chosen[draw] = Math.floor(nextUint32() * perBlock);
    let value = 0;
    let whole = true;
    for (const { coefficient, counts, sums } of group) {
      let count = 0;
      let sum = 0;
      for (let draw = 0; draw < n; draw++) {
        const block = chosen[draw] as number;
        count += counts[block] as number;
        sum += sums[block] as number;
      }
      whole &&= count > 0;
      value += (coefficient * sum) / count;
    }
    if (whole) return value;
  }
}
