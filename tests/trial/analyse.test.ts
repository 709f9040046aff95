import { describe, expect, test } from 'vitest';
import { seededRandom, type Random } from '@/lib/stats/random';
import { analyseValues, UNREPLICATED_SENTENCE, type AnalysisPlan, type PlotValue } from '@/lib/trial/analyse';
import { analyseTrial } from '@/lib/trial/over-time';
import { costPerUnitResponse, summariseCurve } from '@/lib/trial/response-curve';

const plan: AnalysisPlan = {
  layout: 'randomised-blocks',
  measure: 'change-against-check',
  check: 'check',
  scale: 'interval',
  comparison: 'tukey',
  treatmentOrder: ['check', 'iron', 'nitrogen'],
};

/** A trial in blocks whose light differs from block to block and whose treatments add what `effects` say. */
function simulate(random: Random, effects: Record<string, number>, blocks: number, day = 7): PlotValue[] {
  return Array.from({ length: blocks }, (_, b) => {
    const light = 0.02 * random.normal();
    return Object.entries(effects).map(([treatment, effect]) => {
      const soil = 0.01 * random.normal();
      return {
        plot: `${b + 1}-${treatment}`,
        block: `${b + 1}`,
        treatment,
        day,
        baseline: 0.4 + soil,
        value: 0.4 + soil + light + effect + 0.006 * random.normal(),
      };
    });
  }).flat();
}

describe('analysis of one day', () => {
  test('finds a clear effect, its size and its letters', () => {
    const got = analyseValues(simulate(seededRandom(4), { check: 0, iron: 0.06, nitrogen: 0.03 }, 5), plan);
    if (got.kind !== 'tested') throw new Error(got.sentences.join(' '));
    const [factor] = got.factors;
    expect(factor!.means.map((one) => one.letters)).toEqual(['c', 'a', 'b']);
    const iron = factor!.means[1]!;
    expect(iron.low).toBeLessThan(0.06);
    expect(iron.high).toBeGreaterThan(0.06);
    expect(factor!.means[0]).toMatchObject({ mean: 0, low: 0, high: 0 });
    expect(got.sentences[1]).toContain('iron lies');
  });
  test('says in one breath that all together are not shown to differ and one is shown to differ from the check', () => {
    const got = analyseValues(simulate(seededRandom(25), { check: 0, iron: 0.012, nitrogen: 0.006 }, 4), {
      ...plan,
      measure: 'change',
    });
    if (got.kind !== 'tested') throw new Error(got.sentences.join(' '));
    const [factor] = got.factors;
    expect(factor!.p).toBeGreaterThan(0.05);
    expect(factor!.againstCheck!.some((one) => one.significant)).toBe(true);
    expect(got.sentences[0]).toMatch(
      /^Taken all together, no difference between the treatments is shown \(F = .*\); the comparisons with the check are a test of their own\.$/,
    );
  });
  test("gives the same p for the change and for the change against the check: the block's check cancels", () => {
    const values = simulate(seededRandom(5), { check: 0, iron: 0.01, nitrogen: 0.005 }, 4);
    const p = (measure: AnalysisPlan['measure']) => {
      const got = analyseValues(values, { ...plan, measure });
      return got.kind === 'tested' ? got.factors[0]!.p : NaN;
    };
    expect(p('change')).toBeCloseTo(p('change-against-check'), 12);
  });
  test('keeps its interval honest with missing plots: covers the true effect about 95 times in 100 (400 seeded trials)', () => {
    const random = seededRandom('coverage');
    let inside = 0;
    for (let run = 0; run < 400; run++) {
      const values = simulate(random, { check: 0, iron: 0.02, nitrogen: 0.01 }, 4).map((one, i) =>
        i === run % 12 || i === (run * 5 + 3) % 12 ? { ...one, value: null } : one,
      );
      const got = analyseValues(values, { ...plan, comparison: 'lsd' });
      const iron = got.kind === 'tested' ? got.factors[0]!.means.find((one) => one.treatment === 'iron') : undefined;
      if (iron && iron.low <= 0.02 && 0.02 <= iron.high) inside += 1;
    }
    expect(inside / 400).toBeGreaterThan(0.92);
    expect(inside / 400).toBeLessThan(0.98);
  });
  test('cries wolf at the nominal rate when nothing was done (600 seeded trials: F, Dunnett and Tukey)', () => {
    const random = seededRandom('no effect');
    const runs = 600;
    let [f, dunnett, tukey] = [0, 0, 0];
    for (let run = 0; run < runs; run++) {
      const got = analyseValues(simulate(random, { check: 0, iron: 0, nitrogen: 0 }, 4), plan);
      if (got.kind !== 'tested') throw new Error('expected a test');
      const [one] = got.factors;
      if (one!.p < 0.05) f += 1;
      if (one!.againstCheck!.some((pair) => pair.significant)) dunnett += 1;
      if (one!.pairs.some((pair) => pair.significant)) tukey += 1;
    }
    // Three standard errors of 5% in 600 are 2.7%.
    for (const count of [f, dunnett, tukey]) {
      expect(count / runs).toBeGreaterThan(0.023);
      expect(count / runs).toBeLessThan(0.077);
    }
  });
  test('says of single strips that they cannot be generalised, and tests nothing', () => {
    const got = analyseValues(simulate(seededRandom(1), { check: 0, iron: 0.05, nitrogen: 0 }, 1), plan);
    if (got.kind !== 'strips-only') throw new Error(`expected strips only, got ${got.kind}`);
    expect(got.sentences[0]).toBe(UNREPLICATED_SENTENCE);
    expect(got.strips.map((one) => one.treatment)).toEqual(['check', 'iron', 'nitrogen']);
    expect(got.strips[0]!.value).toBe(0);
  });
  test('keeps the reason of what is left out, and warns of a treatment with one plot', () => {
    const values = simulate(seededRandom(2), { check: 0, iron: 0.05, nitrogen: 0 }, 3).map((one) =>
      one.treatment === 'iron' && one.block !== '2' ? { ...one, excludedBecause: 'scuffed by a mower' } : one,
    );
    const got = analyseValues(values, plan);
    if (got.kind !== 'tested') throw new Error('expected a test');
    expect(got.leftOut).toEqual([
      { plot: '1-iron', day: 7, reason: 'scuffed by a mower' },
      { plot: '3-iron', day: 7, reason: 'scuffed by a mower' },
    ]);
    expect(got.assumptions.some((note) => note.text.startsWith('iron has one plot left'))).toBe(true);
    expect(got.sentences.some((text) => text.includes('1-iron (scuffed by a mower)'))).toBe(true);
  });
  test('names a treatment of which no plot counts, and says what a check that is gone takes away', () => {
    const without = (treatment: string) =>
      analyseValues(
        simulate(seededRandom(6), { check: 0, iron: 0.06, nitrogen: 0.03 }, 4).map((one) =>
          one.treatment === treatment ? { ...one, value: null } : one,
        ),
        { ...plan, measure: 'index' },
      ).sentences.join(' ');
    expect(without('iron')).toContain('No plot of iron counts, so nothing is said of it.');
    expect(without('check')).toContain('No plot of the check counts, so nothing can be compared with it.');
  });
  test('flags a plot far from the rest', () => {
    const values = simulate(seededRandom(8), { check: 0, iron: 0, nitrogen: 0 }, 6).map((one, i) =>
      i === 7 ? { ...one, value: one.value! + 0.2 } : one,
    );
    const got = analyseValues(values, plan);
    if (got.kind !== 'tested') throw new Error('expected a test');
    expect(got.assumptions.find((note) => note.about === 'outliers')).toMatchObject({
      verdict: 'caution',
      text: expect.stringContaining(values[7]!.plot),
    });
  });
  test('reads ratings by ranks first', () => {
    const values = simulate(seededRandom(3), { check: 0, iron: 2, nitrogen: 1 }, 6).map((one) => ({
      ...one,
      value:
        Math.round((5 + one.value! + 40 * (one.value! - one.baseline!) * (one.treatment === 'check' ? 1 : 0)) * 2) / 2,
    }));
    const got = analyseValues(values, { ...plan, measure: 'index', scale: 'ordinal' });
    expect(got.kind === 'tested' && got.rankTest!.name).toBe('Friedman');
    expect(got.sentences[0]).toContain('By ranks');
  });
  test('still reads ratings by ranks when raters gave every plot of a treatment the same', () => {
    const values = simulate(seededRandom(3), { check: 5, iron: 7, nitrogen: 6 }, 6).map((one) => ({
      ...one,
      value: Math.round(one.value! * 2) / 2,
    }));
    const got = analyseValues(values, { ...plan, measure: 'index', scale: 'ordinal' });
    expect(got.kind).toBe('none');
    expect(got.sentences[0]).toContain('By ranks, which is the safer reading for ratings: the treatments differ');
  });
  test('does not test plots that do not scatter, a check that is missing, or one treatment alone', () => {
    const same = simulate(seededRandom(3), { check: 0, iron: 0, nitrogen: 0 }, 3).map((one) => ({
      ...one,
      value: 0.5,
      baseline: 0.4,
    }));
    expect(analyseValues(same, plan).sentences[0]).toContain('do not scatter at all');
    const noCheck = simulate(seededRandom(3), { iron: 0, nitrogen: 0 }, 3);
    expect(analyseValues(noCheck, plan).sentences[0]).toContain('No check strip');
    expect(analyseValues(simulate(seededRandom(3), { check: 0 }, 3), plan).sentences[0]).toContain(
      'Fewer than two treatments',
    );
  });
  test('analyses a split plot by its two errors, and one with a hole by the mixed model', () => {
    const random = seededRandom('split');
    const values = ['1', '2', '3', '4'].flatMap((block) =>
      ['check', 'iron'].flatMap((treatment) => {
        const main = 0.01 * random.normal();
        return ['low', 'high'].map((subTreatment) => ({
          plot: `${block}${treatment}${subTreatment}`,
          block,
          treatment,
          subTreatment,
          day: 7,
          value: 0.4 + main + (subTreatment === 'high' ? 0.05 : 0) + 0.004 * random.normal(),
        }));
      }),
    );
    const split: AnalysisPlan = { ...plan, layout: 'split-plot', measure: 'index' };
    const got = analyseValues(values, split);
    if (got.kind !== 'tested') throw new Error(got.sentences.join(' '));
    expect(got.table.kind !== 'mixed model' && got.table.rows.map((row) => row.df)).toEqual([3, 1, 3, 1, 1, 6]);
    // The mixed model's F are those of the two errors.
    expect(got.factors[0]!.f / (got.table.kind === 'split-plot strata' ? got.table.rows[1]!.f! : NaN)).toBeCloseTo(
      1,
      6,
    );
    expect(got.cells!.length).toBe(4);
    expect(got.factors[1]!.p).toBeLessThan(0.01);
    const holed = analyseValues(values.slice(1), split);
    expect(holed.kind === 'tested' && holed.table.kind).toBe('mixed model');
    expect(holed.kind === 'tested' && holed.factors[1]!.p).toBeLessThan(0.01);
  });
});

describe('response curve', () => {
  test('worked by hand: 0 at day 0, 4 at day 2, 1 at day 6, -1 at day 10', () => {
    const got = summariseCurve([
      { day: 0, response: 0 },
      { day: 2, response: 4 },
      { day: 6, response: 1 },
      { day: 10, response: -1 },
    ])!;
    expect(got).toMatchObject({
      peak: 4,
      daysToPeak: 2,
      area: 14,
      daysAbove: 8,
      firstDay: 0,
      lastDay: 10,
      stillAboveAtEnd: false,
    });
    expect(got.meanResponse).toBeCloseTo(1.4, 12);
  });
  test('averages two photos of one day, needs two days, and prices only a gain', () => {
    expect(
      summariseCurve([
        { day: 0, response: 0 },
        { day: 4, response: 1 },
        { day: 4, response: 3 },
      ])!.peak,
    ).toBe(2);
    expect(summariseCurve([{ day: 3, response: 1 }])).toBeNull();
    expect(costPerUnitResponse(2, 0.5)).toBe(4);
    expect(costPerUnitResponse(2, -0.5)).toBeNull();
  });
});

describe('analysis over time', () => {
  const random = seededRandom('time');
  const height: Record<number, number> = { 3: 0.02, 7: 0.05, 14: 0.03 };
  const soil = new Map<string, number>();
  const values = [3, 7, 14]
    .flatMap((day) => simulate(random, { check: 0, iron: height[day]!, nitrogen: 0 }, 4, day))
    .map((one) => {
      const baseline = soil.get(one.plot) ?? one.baseline!;
      soil.set(one.plot, baseline);
      return { ...one, value: one.value! - one.baseline! + baseline, baseline };
    });
  const got = analyseTrial(values, plan, { iron: 0.1 }, 0.005);
  test('has a result a day and a curve that peaks on day 7', () => {
    expect(got.byDay.map(({ day, analysis }) => [day, analysis.kind])).toEqual([
      [3, 'tested'],
      [7, 'tested'],
      [14, 'tested'],
    ]);
    const iron = got.curves.find((curve) => curve.treatment === 'iron')!;
    expect(iron.summary!.daysToPeak).toBe(7);
    // Trapezoids of the truth: 3·0.01 + 4·0.035 + 7·0.04 = 0.45.
    expect(iron.summary!.area).toBeGreaterThan(0.35);
    expect(iron.summary!.area).toBeLessThan(0.55);
    expect(iron.costPerUnit).toBeCloseTo(0.1 / iron.summary!.area, 12);
  });
  test('tests the area under the curve with one value a plot: 12 values, 6 error df', () => {
    if (got.area.kind !== 'tested') throw new Error(got.area.sentences.join(' '));
    expect(got.area.errorDf).toBe(6);
    expect(got.area.factors[0]!.againstCheck!.find((one) => one.a === 'iron')!.significant).toBe(true);
    expect(got.peak.kind === 'tested' && got.peak.factors[0]!.means.map((one) => one.treatment)).toEqual([
      'iron',
      'nitrogen',
    ]);
  });
  test('leaves a plot without its last day out of the area, and says so', () => {
    const holed = values.map((one) => (one.plot === '2-iron' && one.day === 14 ? { ...one, value: null } : one));
    expect(analyseTrial(holed, plan).area.leftOut).toEqual([
      { plot: '2-iron', day: 14, reason: 'its curve lacks day 14' },
    ]);
  });
});
