import { Matrix, pseudoInverse } from 'ml-matrix';
import { chiSquareUpperP } from '@/lib/stats/chi-square';
import { midRanks } from '@/lib/stats/mid-ranks';
import { seededRandom } from '@/lib/stats/random';

/** One plot of a block: which treatment it carries (a number from 0) and its value. */
export interface RankedPlot {
  readonly treatment: number;
  readonly value: number;
}

/** A rank test by permutation of the plots within their blocks. */
export interface RankTest {
  /** Kruskal-Wallis: one block. Friedman: every treatment once in every block. Otherwise Skillings-Mack. */
  readonly name: 'Friedman' | 'Kruskal-Wallis' | 'Skillings-Mack' | 'Latin square by ranks';
  readonly statistic: number;
  readonly df: number;
  /** By permutation; 0 to 1. */
  readonly p: number;
  readonly method: 'every order' | 'random orders';
  /** Orders drawn, where not every one was looked at. */
  readonly draws: number | null;
  /**
   * The smallest p that any outcome of this layout (with these ties) could give; null where not every order was looked
   * at.
   */
  readonly smallestP: number | null;
  /** What a chi-square would say: for comparison with tables only, since it is wrong in small trials. */
  readonly chiSquareP: number | null;
}

/** Work that is still done at once (some hundredths of a second); beyond it orders are drawn. */
const MOST_STEPS = 60_000;
const DRAWS = 9_999;
/** Two statistics are the same within this share: sums of the same numbers in another order. */
const SAME = 1e-9;

interface RankedBlock {
  /** Weighted, centred ranks, smallest first. */
  readonly scores: number[];
  /** Plots of each treatment. */
  readonly counts: number[];
}

const keyOf = (values: readonly number[]): string => values.map((value) => Math.round(value * 1e6)).join();

/** Distribution of a block's treatment sums over all orders of its plots, or null when that is too much work. */
function blockSums(
  block: RankedBlock,
  budget: { steps: number },
): Map<string, { sums: number[]; share: number }> | null {
  let states = new Map([['', { sums: block.counts.map(() => 0), left: block.counts, share: 1 }]]);
  for (let at = 0; at < block.scores.length; at++) {
    const next: typeof states = new Map();
    const plotsLeft = block.scores.length - at;
    for (const { sums, left, share } of states.values()) {
      for (let j = 0; j < left.length; j++) {
        if (left[j] === 0) continue;
        if (--budget.steps < 0) return null;
        const newSums = sums.map((sum, i) => (i === j ? sum + block.scores[at]! : sum));
        const newLeft = left.map((count, i) => (i === j ? count - 1 : count));
        const key = `${keyOf(newSums)}|${newLeft.join()}`;
        const weight = (share * left[j]!) / plotsLeft;
        const known = next.get(key);
        if (known) known.share += weight;
        else next.set(key, { sums: newSums, left: newLeft, share: weight });
      }
    }
    states = next;
  }
  return states;
}

/** Every value the statistic can take with its probability, or null when that is too much work. */
function everyOrder(
  blocks: readonly RankedBlock[],
  statisticOf: (sums: readonly number[]) => number,
  alike: boolean,
): { value: number; share: number }[] | null {
  const budget = { steps: MOST_STEPS };
  let states = new Map([['', { sums: blocks[0]!.counts.map(() => 0), share: 1 }]]);
  for (const block of blocks) {
    const own = blockSums(block, budget);
    if (own === null) return null;
    const next: typeof states = new Map();
    for (const state of states.values()) {
      for (const { sums, share } of own.values()) {
        if (--budget.steps < 0) return null;
        const total = state.sums.map((sum, j) => sum + sums[j]!);
        // Where all treatments stand alike in every block, only the sorted sums matter.
        if (alike) total.sort((a, b) => a - b);
        const key = keyOf(total);
        const known = next.get(key);
        if (known) known.share += state.share * share;
        else next.set(key, { sums: total, share: state.share * share });
      }
    }
    states = next;
  }
  return [...states.values()].map(({ sums, share }) => ({ value: statisticOf(sums), share }));
}

/**
 * How many of DRAWS random orders reach the statistic `least`. In place on typed arrays: this loop is the whole cost.
 */
function drawOrders(blocks: readonly RankedBlock[], weights: readonly (readonly number[])[], least: number): number {
  const k = weights.length;
  const form = Float64Array.from(weights.flat());
  const scores = blocks.map((block) => Float64Array.from(block.scores));
  const labels = blocks.map((block) =>
    Int32Array.from(block.counts.flatMap((count, j) => Array.from({ length: count }, () => j))),
  );
  const sums = new Float64Array(k);
  const random = seededRandom('rank test');
  let reached = 0;
  for (let draw = 0; draw < DRAWS; draw++) {
    sums.fill(0);
    for (let b = 0; b < labels.length; b++) {
      const own = labels[b]!;
      const score = scores[b]!;
      for (let i = own.length - 1; i >= 0; i--) {
        const at = Math.floor((random.nextUint32() / 4294967296) * (i + 1));
        const label = own[at]!;
        own[at] = own[i]!;
        own[i] = label;
        sums[label] = sums[label]! + score[i]!;
      }
    }
    let value = 0;
    for (let j = 0; j < k; j++) {
      let row = 0;
      for (let l = 0; l < k; l++) row += form[j * k + l]! * sums[l]!;
      value += row * sums[j]!;
    }
    if (value >= least) reached += 1;
  }
  return reached;
}

/**
 * Do treatments differ, by ranks within blocks? The p-value comes from the orders that chance could have laid within
 * the blocks: all of them where they can be looked at, else 9,999 drawn with a fixed seed. Any number of plots of a
 * treatment may lie in a block, none included; one block alone is the Kruskal-Wallis test, complete blocks the Friedman
 * test (0/1 values: Cochran's Q), both corrected for ties. Null when nothing can be ranked.
 * @see Skillings & Mack 1981, Technometrics 23:171; Hollander & Wolfe 1999, sections 6.1, 7.1 and 7.6; permutation p
 *   with draws: Davison & Hinkley 1997, 4.2
 */
export function rankTest(plots: readonly (readonly RankedPlot[])[], treatments: number): RankTest | null {
  const blocks = plots.map((block): RankedBlock => {
    const ranks = midRanks(block.map((plot) => plot.value));
    const weight = Math.sqrt(12 / (block.length + 1));
    const centred = ranks.map((rank) => weight * (rank - (block.length + 1) / 2));
    return {
      scores: centred.toSorted((a, b) => a - b),
      counts: Array.from({ length: treatments }, (_, j) => block.filter((plot) => plot.treatment === j).length),
    };
  });
  // A block tells something when two treatments lie in it and its values are not all the same.
  const telling = blocks.map(
    (block) => block.counts.filter((count) => count > 0).length > 1 && block.scores.at(-1)! > block.scores[0]!,
  );
  const used = blocks.filter((_, b) => telling[b]);
  if (used.length === 0) return null;
  const observed = Array.from({ length: treatments }, () => 0);
  const covariance = Matrix.zeros(treatments, treatments);
  used.forEach(({ scores, counts }) => {
    const n = scores.length;
    const spread = scores.reduce((sum, score) => sum + score ** 2, 0) / (n - 1);
    for (let j = 0; j < treatments; j++) {
      for (let l = 0; l < treatments; l++)
        covariance.set(
          j,
          l,
          covariance.get(j, l) + spread * ((j === l ? counts[j]! : 0) - (counts[j]! * counts[l]!) / n),
        );
    }
  });
  plots.forEach((block, b) => {
    if (!telling[b]) return;
    const ranks = midRanks(block.map((plot) => plot.value));
    const weight = Math.sqrt(12 / (block.length + 1));
    block.forEach(
      (plot, i) =>
        (observed[plot.treatment] = observed[plot.treatment]! + weight * (ranks[i]! - (block.length + 1) / 2)),
    );
  });
  const inverse = pseudoInverse(covariance, 1e-9);
  const df = Math.round(inverse.mmul(covariance).trace());
  const weights = inverse.to2DArray();
  const statisticOf = (sums: readonly number[]): number => {
    let value = 0;
    for (let j = 0; j < treatments; j++)
      for (let l = 0; l < treatments; l++) value += weights[j]![l]! * sums[j]! * sums[l]!;
    return value;
  };
  const statistic = statisticOf(observed);
  const least = statistic - SAME * Math.max(1, statistic);
  const alike = used.every(({ counts }) => counts.every((count) => count === counts[0]));
  const complete = alike && used[0]!.counts[0] === 1;
  const name = plots.length === 1 ? 'Kruskal-Wallis' : complete ? 'Friedman' : 'Skillings-Mack';
  const common = { name, statistic, df, chiSquareP: chiSquareUpperP(statistic, df) } as const;
  const all = everyOrder(used, statisticOf, alike);
  if (all !== null) {
    const share = (from: number): number =>
      Math.min(
        1,
        all.reduce((sum, one) => sum + (one.value >= from ? one.share : 0), 0),
      );
    const most = all.reduce((top, one) => Math.max(top, one.value), 0);
    return {
      ...common,
      p: share(least),
      method: 'every order',
      draws: null,
      smallestP: share(most - SAME * Math.max(1, most)),
    };
  }
  const reached = drawOrders(used, weights, least);
  return { ...common, p: (reached + 1) / (DRAWS + 1), method: 'random orders', draws: DRAWS, smallestP: null };
}

function permutationsOf(n: number): number[][] {
  if (n === 0) return [[]];
  return permutationsOf(n - 1).flatMap((rest) =>
    Array.from({ length: n }, (_, at) => [...rest.slice(0, at), n - 1, ...rest.slice(at)]),
  );
}

/**
 * Ranks in a complete Latin square: rows and columns of the layout are put in every order (up to 5 × 5; above, orders
 * are drawn), as the draw could have laid them. `treatments[r][c]` and `values[r][c]`, row by row. Every treatment
 * meets every row and column once, so their sums carry neither. Null when all values are the same.
 * @see Edgington & Onghena 2007, Randomization Tests, chapter on Latin squares
 */
export function latinRankTest(
  treatments: readonly (readonly number[])[],
  values: readonly (readonly number[])[],
): RankTest | null {
  const n = treatments.length;
  const flat = midRanks(values.flat());
  if (flat.every((rank) => rank === flat[0])) return null;
  const total = (n * (n * n + 1)) / 2;
  const spreadOf = (rows: readonly number[], columns: readonly number[]): number => {
    const sums = Array.from({ length: n }, () => -total);
    for (let r = 0; r < n; r++) {
      for (let c = 0; c < n; c++) {
        const j = treatments[rows[r]!]![columns[c]!]!;
        sums[j] = sums[j]! + flat[r * n + c]!;
      }
    }
    return sums.reduce((sum, value) => sum + value * value, 0);
  };
  const order = Array.from({ length: n }, (_, i) => i);
  const statistic = spreadOf(order, order);
  const least = statistic - SAME * Math.max(1, statistic);
  const common = { name: 'Latin square by ranks', statistic, df: n - 1, chiSquareP: null } as const;
  if (n <= 5) {
    const orders = permutationsOf(n);
    const all = orders.flatMap((rows) => orders.map((columns) => spreadOf(rows, columns)));
    const most = all.reduce((top, value) => Math.max(top, value), 0);
    const share = (from: number): number => all.filter((value) => value >= from).length / all.length;
    return {
      ...common,
      p: share(least),
      method: 'every order',
      draws: null,
      smallestP: share(most - SAME * Math.max(1, most)),
    };
  }
  const random = seededRandom('rank test');
  let reached = 0;
  for (let draw = 0; draw < DRAWS; draw++)
    if (spreadOf(random.shuffled(order), random.shuffled(order)) >= least) reached += 1;
  return { ...common, p: (reached + 1) / (DRAWS + 1), method: 'random orders', draws: DRAWS, smallestP: null };
}
