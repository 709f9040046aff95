import { describe, expect, test } from 'vitest';
import { seededRandom } from '@/lib/stats/random';
import {
  CAUSE_FACTORS,
  causeDesign,
  causePhotoDays,
  causeTestProblems,
  combinationsOf,
  sprayOrder,
  suggestedFactors,
  trialFactors,
} from '@/lib/explain/cause-test';
import { causeBlocks, presencePower } from '@/lib/explain/cause-test-power';
import { readCauseTest } from '@/lib/explain/read-cause-test';
import { analyseMarks, type PlotMarks } from '@/lib/trial/marks-on-plots';

const pick = (...ids: string[]) => CAUSE_FACTORS.filter((factor) => ids.includes(factor.id));
const pair = pick('carrier', 'surfactant');
const combinations = combinationsOf(pair, 'full');

/** Marks wherever `marked` says so of a combination and block. */
function marks(blocks: number, marked: (levels: readonly (0 | 1)[], block: number) => boolean): PlotMarks[] {
  return Array.from({ length: blocks }, (_, b) => [
    { plot: `${b}-u`, block: String(b), treatment: 'Unsprayed', areaShare: 0 },
    ...combinations.map((one) => ({
      plot: `${b}-${one.name}`,
      block: String(b),
      treatment: one.name,
      areaShare: marked(one.levels, b) ? 0.2 : 0,
    })),
  ]).flat();
}
const analyse = (values: PlotMarks[]) =>
  analyseMarks(values, { layout: 'randomised-blocks', check: 'Unsprayed', factors: trialFactors(pair, combinations) });
const read = (values: PlotMarks[]) =>
  readCauseTest(
    { factors: ['carrier', 'surfactant'], fraction: 'full' },
    { id: 't', name: 'Test' },
    3,
    analyse(values),
  );

describe('the trial of a cause', () => {
  test('crosses two things to four mixes, three to eight, and half of three to four in which each level stands twice with each of another', () => {
    expect(combinations.map((one) => one.name)).toEqual([
      'As sprayed',
      'Twice the carrier',
      'Without surfactant',
      'Twice the carrier, without surfactant',
    ]);
    const three = pick('carrier', 'surfactant', 'hour');
    expect(combinationsOf(three, 'full')).toHaveLength(8);
    const half = combinationsOf(three, 'half');
    for (const [i, j] of [
      [0, 1],
      [0, 2],
      [1, 2],
    ] as const) {
      for (const a of [0, 1])
        for (const b of [0, 1])
          expect(half.filter((one) => one.levels[i] === a && one.levels[j] === b)).toHaveLength(1);
    }
    expect(causeTestProblems(pair, 'half', 4)[0]).toContain('expected 3 factors');
    expect(causeDesign(combinations, 3).treatments).toHaveLength(5);
  });
  test('begins with what speaks to the likeliest causes', () => {
    expect(
      suggestedFactors(CAUSE_FACTORS, [
        { cause: 'surfactant-with-ammonium', strength: 'likely' },
        { cause: 'too-much-iron', strength: 'unlikely' },
      ]),
    ).toEqual(['surfactant', 'strength']);
    expect(
      suggestedFactors(CAUSE_FACTORS, [
        { cause: 'iron-on-leaf', strength: 'likely' },
        { cause: 'dried-too-fast', strength: 'likely' },
      ]),
    ).toEqual(['carrier', 'hour']);
  });
  test('sprays the earlier hour first, and within it the surfactant last', () => {
    const order = sprayOrder(pick('surfactant', 'hour'), combinationsOf(pick('surfactant', 'hour'), 'full'));
    expect(order).toEqual([
      'Without surfactant',
      'As sprayed',
      'Without surfactant, an hour before sunset',
      'An hour before sunset',
    ]);
    expect(causePhotoDays(2.6)).toEqual([1, 3, 5, 14]);
  });
  test('plans blocks by the exact test: 12 pairs at 90% against 10% are told almost always, 4 pairs never', () => {
    expect(presencePower(4, 0.9, 0.1)).toBe(0);
    // By hand: six pairs all one way have p 2/64 < 0.05; with 0.81 each way that is 0.81^6 (and the reverse, 0.01^6).
    expect(presencePower(6, 0.9, 0.1)).toBeCloseTo(0.81 ** 6 + 0.01 ** 6, 9);
    expect(presencePower(12, 0.9, 0.1)).toBeGreaterThan(0.95);
    expect(presencePower(30, 0.5, 0.5)).toBeLessThanOrEqual(0.05);
    expect(causeBlocks(2, 'full').find((one) => one.power >= 0.8)!.blocks).toBe(5);
  });
  test('has the power it promises (300 seeded trials of 5 blocks)', () => {
    const random = seededRandom('presence');
    let told = 0;
    for (let run = 0; run < 300; run++) {
      const got = analyse(marks(5, (levels) => random.next() < (levels[1] === 0 ? 0.85 : 0.1)));
      if (got.factors[1]!.presence !== null && got.factors[1]!.presence.p < 0.05) told += 1;
    }
    // Three standard errors of 300 trials.
    expect(Math.abs(told / 300 - presencePower(10, 0.85, 0.1))).toBeLessThan(3 * Math.sqrt(0.1 / 300) + 0.01);
  });
});

describe('what the trial says of causes', () => {
  test('speaks for a surfactant whose absence takes the mark away, against a carrier that changes nothing', () => {
    const [carrier, surfactant] = read(marks(4, (levels) => levels[1] === 0));
    expect(surfactant).toMatchObject({ verdict: 'for', causes: ['surfactant-with-ammonium'] });
    expect(surfactant!.text).toContain('8 of 8 strips ‘with surfactant’ and on 0 of 8 ‘without surfactant’');
    // Four of eight strips either way: the mark stayed, which is weaker than a difference shown.
    expect(carrier).toMatchObject({ verdict: 'against', shown: false });
  });
  test('speaks against both where the mark comes back everywhere, and says nothing where it never does', () => {
    expect(read(marks(4, () => true)).map((one) => one.verdict)).toEqual(['against', 'against']);
    expect(read(marks(4, () => false))[0]).toMatchObject({
      verdict: 'open',
      text: expect.stringContaining('did not come back'),
    });
  });
  test('tests one factor within blocks and within the levels of the other: a strong other effect does not leak', () => {
    const got = analyse(marks(6, (levels) => levels[1] === 0));
    expect(got.factors[1]!.presence!.p).toBeCloseTo(2 / 2 ** 12, 10);
    expect(got.factors[0]!.presence).toBeNull();
  });
});
