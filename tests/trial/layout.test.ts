import { describe, expect, test } from 'vitest';
import { chiSquareUpperP } from '@/lib/stats/chi-square';
import { seededRandom } from '@/lib/stats/random';
import { blindOrder } from '@/lib/trial/blind-order';
import { designProblems, designRemarks, errorDf, plotCount, type TrialDesign } from '@/lib/trial/design';
import { layOutMap } from '@/lib/trial/plot-map';
import { randomLatinSquare, randomiseTrial } from '@/lib/trial/randomise';

const blocks: TrialDesign = {
  layout: 'randomised-blocks',
  treatments: ['check', 'iron', 'nitrogen'],
  check: 'check',
  blocks: 4,
};

/** Chi-square p that the counts come from equally likely outcomes. */
function uniformP(counts: readonly number[]): number {
  const expected = counts.reduce((a, b) => a + b) / counts.length;
  return chiSquareUpperP(
    counts.reduce((sum, count) => sum + (count - expected) ** 2 / expected, 0),
    counts.length - 1,
  );
}

describe('design', () => {
  test('says what is wrong in one sentence each', () => {
    expect(designProblems(blocks)).toEqual([]);
    expect(designProblems({ ...blocks, layout: 'latin-square' })).toEqual([
      'Latin square: expected as many rows as treatments (3), got 4',
    ]);
    expect(designProblems({ ...blocks, layout: 'paired-strips' })).toEqual([
      'paired strips: expected 2 treatments, got 3',
    ]);
    expect(designProblems({ ...blocks, check: 'water' })).toEqual([
      "check: expected one of the treatments, got 'water'",
    ]);
    expect(designProblems({ ...blocks, layout: 'split-plot' })).toEqual([
      'split plot: expected 2 to 20 treatments of the second factor, got 0',
    ]);
  });
  test('has the error degrees of freedom of the textbook: 2 × 4 blocks 3, 3 × 4 6, 4 × 4 9, Latin square of 4 6', () => {
    expect(errorDf({ ...blocks, treatments: ['a', 'b'] })).toBe(3);
    expect(errorDf(blocks)).toBe(6);
    expect(errorDf({ ...blocks, treatments: ['a', 'b', 'c', 'd'] })).toBe(9);
    expect(errorDf({ ...blocks, layout: 'latin-square', treatments: ['a', 'b', 'c', 'd'] })).toBe(6);
    expect(plotCount({ ...blocks, layout: 'split-plot', subTreatments: ['x', 'y'] })).toBe(24);
    expect(designRemarks({ ...blocks, blocks: 1 })[0]).toContain('not whether the treatment would do it again');
  });
});

describe('new layouts', () => {
  const many: TrialDesign = {
    layout: 'incomplete-blocks',
    treatments: ['a', 'b', 'c', 'd', 'e', 'f', 'g'],
    check: 'a',
    blocks: 7,
    blockSize: 3,
  };
  test('finds the balanced design of 7 treatments in 7 blocks of 3: each pair meets once (Cochran & Cox 1957, plan 11.7)', () => {
    const placed = randomiseTrial(many, seededRandom(2));
    const blocksOf = Array.from({ length: 7 }, (_, b) =>
      placed.filter((plot) => plot.block === b).map((plot) => plot.treatment),
    );
    for (const a of many.treatments) {
      expect(blocksOf.filter((block) => block.includes(a))).toHaveLength(3);
      for (const b of many.treatments.filter((other) => other > a))
        expect(blocksOf.filter((block) => block.includes(a) && block.includes(b))).toHaveLength(1);
    }
    expect(errorDf(many)).toBe(8);
  });
  test('never lays a treatment twice in an incomplete block, and ties all treatments together', () => {
    for (let seed = 1; seed <= 30; seed++) {
      const placed = randomiseTrial(
        { ...many, treatments: ['a', 'b', 'c', 'd', 'e'], blocks: 5, blockSize: 2 },
        seededRandom(seed),
      );
      for (let b = 0; b < 5; b++)
        expect(new Set(placed.filter((plot) => plot.block === b).map((plot) => plot.treatment)).size).toBe(2);
    }
    expect(designProblems({ ...many, blockSize: 7 })[0]).toContain('blocks of 2 to 6 plots');
  });
  test('a strip plot crosses both factors in every block: its map is a grid whose rows and columns each carry one treatment', () => {
    const placed = randomiseTrial(
      { layout: 'strip-plot', treatments: ['x', 'y', 'z'], subTreatments: ['p', 'q'], check: null, blocks: 2 },
      seededRandom(3),
    );
    const map = layOutMap(placed, { swathM: 1, passesPerStrip: 1, stripLengthM: 4, bufferM: 0.5 });
    expect(new Set(map.plots.map((plot) => plot.label)).size).toBe(12);
    for (const block of [0, 1]) {
      const own = map.plots.filter((plot) => plot.block === block);
      for (const x of new Set(own.map((plot) => plot.xM)))
        expect(new Set(own.filter((plot) => plot.xM === x).map((plot) => plot.treatment)).size).toBe(1);
      for (const y of new Set(own.map((plot) => plot.yM)))
        expect(new Set(own.filter((plot) => plot.yM === y).map((plot) => plot.subTreatment)).size).toBe(1);
    }
    expect([map.widthM, map.lengthM]).toEqual([4, 2 * 8.5 + 1]);
  });
  test('draws a completely randomised trial over the whole ground: every order of 2 × 2 plots equally often (1,200 seeds)', () => {
    const counts = new Map<string, number>();
    for (let seed = 0; seed < 1200; seed++) {
      const order = randomiseTrial(
        { layout: 'completely-randomised', treatments: ['a', 'b'], check: null, blocks: 2 },
        seededRandom(seed),
      )
        .map((plot) => plot.treatment)
        .join('');
      counts.set(order, (counts.get(order) ?? 0) + 1);
    }
    expect(counts.size).toBe(6);
    expect(uniformP([...counts.values()])).toBeGreaterThan(0.001);
  });
});

describe('randomisation', () => {
  test('is the same for the same seed and another for another', () => {
    const draw = (seed: number) => JSON.stringify(randomiseTrial(blocks, seededRandom(seed)));
    expect(draw(1)).toBe(draw(1));
    expect(new Set([1, 2, 3, 4, 5].map(draw)).size).toBeGreaterThan(1);
  });
  test('puts every treatment once in every block', () => {
    const plots = randomiseTrial(blocks, seededRandom(3));
    for (let b = 0; b < 4; b++)
      expect(
        plots
          .filter((plot) => plot.block === b)
          .map((plot) => plot.treatment)
          .sort(),
      ).toEqual(['check', 'iron', 'nitrogen']);
  });
  test('makes each of the 6 orders of a block equally likely (6000 blocks, chi-square p above 0.001)', () => {
    const counts = new Map<string, number>();
    const random = seededRandom('orders');
    for (let i = 0; i < 1500; i++) {
      const plots = randomiseTrial(blocks, random);
      for (let b = 0; b < 4; b++) {
        const order = plots
          .filter((plot) => plot.block === b)
          .map((plot) => plot.treatment)
          .join();
        counts.set(order, (counts.get(order) ?? 0) + 1);
      }
    }
    expect(counts.size).toBe(6);
    expect(uniformP([...counts.values()])).toBeGreaterThan(0.001);
  });
  test('draws all 576 Latin squares of size 4 about equally often (5760 draws, chi-square p above 0.001)', () => {
    const counts = new Map<string, number>();
    const random = seededRandom('squares');
    for (let i = 0; i < 5760; i++) {
      const square = randomLatinSquare(4, random).join('|');
      counts.set(square, (counts.get(square) ?? 0) + 1);
    }
    expect(counts.size).toBe(576);
    expect(uniformP([...counts.values()])).toBeGreaterThan(0.001);
  });
  test.each([2, 3, 5, 7, 10])('a Latin square of size %d has every symbol once in every row and column', (n) => {
    const square = randomLatinSquare(n, seededRandom(n));
    for (let i = 0; i < n; i++) {
      expect(new Set(square[i]).size).toBe(n);
      expect(new Set(square.map((row) => row[i])).size).toBe(n);
    }
  });
  test('keeps the subplots of a main plot together', () => {
    const plots = randomiseTrial({ ...blocks, layout: 'split-plot', subTreatments: ['wet', 'dry'] }, seededRandom(9));
    expect(plots).toHaveLength(24);
    for (const plot of plots) {
      const neighbour = plots.find((one) => one.block === plot.block && one.position === (plot.position ^ 1))!;
      expect(neighbour.treatment).toBe(plot.treatment);
      expect(neighbour.subTreatment).not.toBe(plot.subTreatment);
    }
  });
  test('refuses a design that cannot be laid out', () => {
    expect(() => randomiseTrial({ ...blocks, blocks: 0 }, seededRandom(1))).toThrow(
      'Replicates: expected a whole number from 1 to 50, got 0',
    );
  });
});

describe('blind order', () => {
  test('shows every strip once, and the repeats after their first showing', () => {
    const strips = ['A', 'B', 'C', 'D', 'E'];
    for (let seed = 0; seed < 50; seed++) {
      const order = blindOrder(strips, seededRandom(seed), 2);
      expect(order.map((one) => one.number)).toEqual([1, 2, 3, 4, 5, 6, 7]);
      expect(
        order
          .filter((one) => !one.repeat)
          .map((one) => one.item)
          .sort(),
      ).toEqual(strips);
      for (const again of order.filter((one) => one.repeat))
        expect(order.findIndex((one) => one.item === again.item)).toBeLessThan(order.indexOf(again));
    }
  });
  test('puts each strip first equally often (5000 orders, chi-square p above 0.001)', () => {
    const random = seededRandom('first');
    const counts = [0, 0, 0, 0];
    for (let i = 0; i < 5000; i++) counts[blindOrder([0, 1, 2, 3], random)[0]!.item]! += 1;
    expect(uniformP(counts)).toBeGreaterThan(0.001);
  });
});

describe('plot map', () => {
  const map = layOutMap(randomiseTrial(blocks, seededRandom(1)), {
    swathM: 1.2,
    passesPerStrip: 2,
    stripLengthM: 6,
    bufferM: 0.3,
    alleyM: 1,
  });
  test('is as wide as strips and buffers, as long as blocks and alleys', () => {
    expect(map.widthM).toBeCloseTo(3 * 2.4 + 2 * 0.3, 9);
    expect(map.lengthM).toBeCloseTo(4 * 6 + 3 * 1, 9);
    expect(map.diagonalM).toBeCloseTo(Math.hypot(7.8, 27), 9);
  });
  test('keeps the buffer between neighbours and every strip inside', () => {
    for (const plot of map.plots) {
      expect(plot.areaM2).toBeCloseTo(14.4, 9);
      for (const [x, y] of plot.cornersM)
        expect(x >= 0 && x <= map.widthM + 1e-9 && y >= 0 && y <= map.lengthM + 1e-9).toBe(true);
    }
    const gaps = map.plots.flatMap((plot) =>
      map.plots
        .filter((one) => one.block === plot.block && one.position === plot.position + 1)
        .map((next) => next.xM - plot.xM - plot.widthM),
    );
    expect(gaps).toHaveLength(8);
    for (const gap of gaps) expect(gap).toBeCloseTo(0.3, 9);
  });
  test('numbers stakes by block and place, each once', () => {
    expect(map.plots.map((plot) => plot.label).sort()).toEqual([
      '101',
      '102',
      '103',
      '201',
      '202',
      '203',
      '301',
      '302',
      '303',
      '401',
      '402',
      '403',
    ]);
    expect(map.stakes).toHaveLength(4 + 12 * 4);
    expect(new Set(map.stakes.map((stake) => stake.label)).size).toBe(52);
  });
  test('can put the blocks in one row', () => {
    const wide = layOutMap(randomiseTrial(blocks, seededRandom(1)), {
      swathM: 1,
      passesPerStrip: 1,
      stripLengthM: 5,
      bufferM: 0,
      alleyM: 2,
      blocksInOneRow: true,
    });
    expect([wide.widthM, wide.lengthM]).toEqual([4 * 3 + 3 * 2, 5]);
  });
});
