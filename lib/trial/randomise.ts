import type { Random } from '@/lib/stats/random';
import { designProblems, type TrialDesign } from '@/lib/trial/design';

/** One plot of a laid-out trial. Position 0 is the first plot of its block (or row), counted the way one walks. */
export interface PlacedPlot {
  readonly block: number;
  readonly position: number;
  readonly treatment: string;
  readonly subTreatment: string | null;
  /** Strip plot: place of the plot across and along its block, instead of one row of strips. */
  readonly cell?: { readonly across: number; readonly along: number };
}

/**
 * A Latin square of size n drawn by Jacobson & Matthews' walk (1996, J. Combin. Designs 4:405), whose limit is uniform
 * over all squares: from the cyclic square through n³ proper squares, then rows, columns and symbols shuffled.
 * Exported so that all squares of a size are counted.
 * @returns rows of symbol numbers 0..n-1
 */
export function randomLatinSquare(n: number, random: Random): number[][] {
  if (n === 1) return [[0]];
  // cube[r][c][s] is 1 where cell (r, c) holds s; one entry may be -1 on the way.
  const cube = Array.from({ length: n }, (_, r) =>
    Array.from({ length: n }, (_, c) => Array.from({ length: n }, (_, s): number => ((r + c) % n === s ? 1 : 0))),
  );
  const get = (r: number, c: number, s: number): number => cube[r]![c]![s]!;
  const add = (r: number, c: number, s: number, by: number): void => {
    cube[r]![c]![s] = get(r, c, s) + by;
  };
  const range = Array.from({ length: n }, (_, i) => i);
  let improper: readonly [number, number, number] | null = null;
  for (let proper = 0; proper < n ** 3;) {
    let r: number;
    let c: number;
    let s: number;
    if (improper === null)
      do [r, c, s] = [random.below(n), random.below(n), random.below(n)];
      while (get(r, c, s) !== 0);
    else [r, c, s] = improper;
    const choose = (ones: readonly number[]): number => ones[random.below(ones.length)]!;
    const r2 = choose(range.filter((i) => get(i, c, s) === 1));
    const c2 = choose(range.filter((i) => get(r, i, s) === 1));
    const s2 = choose(range.filter((i) => get(r, c, i) === 1));
    add(r, c, s, 1);
    add(r, c2, s2, 1);
    add(r2, c, s2, 1);
    add(r2, c2, s, 1);
    add(r2, c, s, -1);
    add(r, c2, s, -1);
    add(r, c, s2, -1);
    add(r2, c2, s2, -1);
    improper = get(r2, c2, s2) < 0 ? [r2, c2, s2] : null;
    if (improper === null) proper += 1;
  }
  const [rows, columns, symbols] = [random.shuffled(range), random.shuffled(range), random.shuffled(range)];
  return rows.map((r) => columns.map((c) => symbols[range.find((s) => get(r, c, s) === 1)!]!));
}

/**
 * How unevenly pairs of treatments meet in blocks: Σ of squared meetings, with squared plots of each counted heavily.
 */
function unevenness(blocks: readonly (readonly number[])[], k: number): number {
  const meetings = Array.from({ length: k * k }, () => 0);
  for (const block of blocks)
    for (const a of block) for (const b of block) meetings[a * k + b] = meetings[a * k + b]! + 1;
  return meetings.reduce((sum, count, at) => sum + count * count * (at % (k + 1) === 0 ? 50 : 1), 0);
}

/** True when every treatment can be compared with every other through blocks. */
function connected(blocks: readonly (readonly number[])[], k: number): boolean {
  const reached = new Set([0]);
  for (let grown = true; grown;) {
    grown = false;
    for (const block of blocks) {
      if (!block.some((t) => reached.has(t))) continue;
      for (const t of block) {
        if (reached.has(t)) continue;
        reached.add(t);
        grown = true;
      }
    }
  }
  return reached.size === k;
}

/**
 * Blocks of `size` out of k treatments, each at most once a block, all on as many plots as each other (or one more) and
 * any two together as evenly as swaps can make it from several starts; a balanced design where one is found.
 * @see John & Williams 1995, Cyclic and Computer Generated Designs, chapter 2 (even meetings make differences precise)
 */
function incompleteBlocks(k: number, blocks: number, size: number, random: Random): number[][] {
  let best: number[][] | null = null;
  let least = Infinity;
  for (let start = 0; start < 12; start++) {
    // A cycle of treatments laid along the blocks puts each on as many plots as the next, never twice in a block.
    const order = random.shuffled(Array.from({ length: k }, (_, i) => i));
    let at = Array.from({ length: blocks }, (_, b) =>
      Array.from({ length: size }, (_unused, i) => order[(b * size + i) % k]!),
    );
    let now = unevenness(at, k);
    for (let step = 0, idle = 0; step < 3000 && idle < 600; step++) {
      const [b1, b2, i1, i2] = [random.below(blocks), random.below(blocks), random.below(size), random.below(size)];
      const [t1, t2] = [at[b1]![i1]!, at[b2]![i2]!];
      idle += 1;
      if (b1 === b2 || t1 === t2 || at[b1]!.includes(t2) || at[b2]!.includes(t1)) continue;
      const swapped = at.map((block, b) => (b === b1 ? block.with(i1, t2) : b === b2 ? block.with(i2, t1) : block));
      const value = unevenness(swapped, k);
      if (value > now) continue;
      if (value < now) idle = 0;
      at = swapped;
      now = value;
    }
    if (now < least && connected(at, k)) [best, least] = [at, now];
  }
  if (best === null)
    throw new RangeError(
      `blocks: expected enough for every treatment to be comparable with every other, got ${blocks} of ${size} plots for ${k} treatments`,
    );
  return best;
}

/**
 * Draws the layout of a design. The same design and generator state give the same layout: keep the seed with the trial.
 * Completely randomised: blocks are only the rows in which the plots lie, and carry no meaning.
 * @throws RangeError with the first problem of the design
 */
export function randomiseTrial(design: TrialDesign, random: Random): PlacedPlot[] {
  const problem = designProblems(design)[0];
  if (problem) throw new RangeError(problem);
  const blocks = Array.from({ length: design.blocks }, (_, block) => block);
  const inRows = (rows: readonly (readonly string[])[]): PlacedPlot[] =>
    rows.flatMap((row, block) =>
      row.map((treatment, position) => ({ block, position, treatment, subTreatment: null })),
    );
  if (design.layout === 'latin-square') {
    const square = randomLatinSquare(design.treatments.length, random);
    const treatments = random.shuffled(design.treatments);
    return inRows(square.map((row) => row.map((symbol) => treatments[symbol]!)));
  }
  if (design.layout === 'completely-randomised') {
    const k = design.treatments.length;
    const all = random.shuffled(blocks.flatMap(() => design.treatments));
    return inRows(blocks.map((block) => all.slice(block * k, (block + 1) * k)));
  }
  if (design.layout === 'incomplete-blocks') {
    const drawn = incompleteBlocks(design.treatments.length, design.blocks, design.blockSize!, random);
    const treatments = random.shuffled(design.treatments);
    return inRows(random.shuffled(drawn).map((block) => random.shuffled(block).map((t) => treatments[t]!)));
  }
  const subs = design.subTreatments ?? [];
  if (design.layout === 'strip-plot') {
    return blocks.flatMap((block): PlacedPlot[] => {
      const [across, along] = [random.shuffled(design.treatments), random.shuffled(subs)];
      return across.flatMap((treatment, x) =>
        along.map((subTreatment, y) => ({
          block,
          position: x * subs.length + y,
          treatment,
          subTreatment,
          cell: { across: x, along: y },
        })),
      );
    });
  }
  return blocks.flatMap((block): PlacedPlot[] => {
    const order = random.shuffled(design.treatments);
    if (design.layout !== 'split-plot')
      return order.map((treatment, position) => ({ block, position, treatment, subTreatment: null }));
    return order.flatMap((treatment, main) =>
      random
        .shuffled(subs)
        .map((subTreatment, sub) => ({ block, position: main * subs.length + sub, treatment, subTreatment })),
    );
  });
}
