import type { Random } from '@/lib/stats/random';
import { designProblems, type TrialDesign } from '@/lib/trial/design';

/** One plot of a laid-out trial. Position 0 is the first plot of its block (or row), counted the way one walks. */
export interface PlacedPlot {
  readonly block: number;
  readonly position: number;
  readonly treatment: string;
  readonly subTreatment: string | null;
}

/**
 * A Latin square of size n drawn by Jacobson & Matthews' walk (1996, J. Combin. Designs 4:405), whose limit is uniform
 * over all squares: from the cyclic square through n³ proper squares, then rows, columns and symbols shuffled.
 * @returns rows of symbol numbers 0..n-1
 */
export function randomLatinSquare(n: number, random: Random): number[][] {
  if (n === 1) return [[0]];
  // cube[r][c][s] is 1 where cell (r, c) holds s; one entry may be -1 on the way.
  const cube = Array.from({ length: n }, (_, r) => Array.from({ length: n }, (_, c) => Array.from({ length: n }, (_, s): number => ((r + c) % n === s ? 1 : 0))));
  const get = (r: number, c: number, s: number): number => cube[r]![c]![s]!;
  const add = (r: number, c: number, s: number, by: number): void => {
    cube[r]![c]![s] = get(r, c, s) + by;
  };
  const range = Array.from({ length: n }, (_, i) => i);
  let improper: readonly [number, number, number] | null = null;
  for (let proper = 0; proper < n ** 3; ) {
    let r: number;
    let c: number;
    let s: number;
    if (improper === null) do [r, c, s] = [random.below(n), random.below(n), random.below(n)]; while (get(r, c, s) !== 0);
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
 * Draws the layout of a design. The same design and generator state give the same layout: keep the seed with the trial.
 * @throws RangeError with the first problem of the design
 */
export function randomiseTrial(design: TrialDesign, random: Random): PlacedPlot[] {
  const problem = designProblems(design)[0];
  if (problem) throw new RangeError(problem);
  const blocks = Array.from({ length: design.blocks }, (_, block) => block);
  if (design.layout === 'latin-square') {
    const square = randomLatinSquare(design.treatments.length, random);
    const treatments = random.shuffled(design.treatments);
    return square.flatMap((row, block) => row.map((symbol, position) => ({ block, position, treatment: treatments[symbol]!, subTreatment: null })));
  }
  return blocks.flatMap((block): PlacedPlot[] => {
    const order = random.shuffled(design.treatments);
    if (design.layout !== 'split-plot') return order.map((treatment, position) => ({ block, position, treatment, subTreatment: null }));
    const subs = design.subTreatments!;
    return order.flatMap((treatment, main) =>
      random.shuffled(subs).map((subTreatment, sub) => ({ block, position: main * subs.length + sub, treatment, subTreatment })),
    );
  });
}
