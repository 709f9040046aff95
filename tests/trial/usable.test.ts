import { describe, expect, test } from 'vitest';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { countsFrom, EVER } from '@/lib/trial/counts-from';
import { drawTrial } from '@/lib/trial/draw-trial';
import { doesNotScatter, residualPoints } from '@/lib/trial/residual-points';
import { sortValues } from '@/lib/trial/usable';
import { listed, pWord, shown } from '@/lib/trial/wording';

describe('values that count', () => {
  const value = (plot: string, more: object = {}) => ({
    plot,
    block: '1',
    treatment: 't',
    day: 3,
    value: 0.5,
    baseline: 0.4,
    ...more,
  });
  test('are index or change; each that doesn’t count is named with its reason', () => {
    const { usable, leftOut } = sortValues(
      [
        value('A'),
        value('B', { value: null }),
        value('C', { baseline: null }),
        value('D', { excludedBecause: 'a hose lay there' }),
      ],
      'change',
    );
    expect(usable.map(({ plot, response }) => [plot, Number(response.toFixed(6))])).toEqual([['A', 0.1]]);
    expect(leftOut).toEqual([
      { plot: 'B', day: 3, reason: 'no value on this day' },
      { plot: 'C', day: 3, reason: 'no value from before the spray to compare with' },
      { plot: 'D', day: 3, reason: 'a hose lay there' },
    ]);
  });
  test('as the index alone need no baseline', () => {
    expect(sortValues([value('C', { baseline: null })], 'index').usable).toHaveLength(1);
  });
  test('are finite', () => {
    expect(() => sortValues([value('A', { value: Number.NaN })], 'index')).toThrow('for plot A, got NaN');
  });
});

describe('sprays are a trial’s', () => {
  const made = new Date('2026-04-10T08:00Z');
  const trial = (plotMade: string) => ({
    startsOn: '2026-04-14',
    createdAt: made,
    plots: [{ plot: { createdAt: new Date(plotMade) } }],
  });
  test('from its planned day on plots that were there before it, from ever on plots it laid out', () => {
    expect(countsFrom(trial('2026-03-01T08:00Z'))).toBe('2026-04-14');
    expect(countsFrom(trial('2026-04-10T08:00Z'))).toBe(EVER);
    expect(EVER < '1950-01-01').toBe(true);
  });
});

describe('residuals', () => {
  test('that are rounding alone do not scatter', () => {
    const fit = (response: number[]) => fitLinearModel({ response, factors: { g: ['a', 'a', 'b', 'b'] } }, [['g']]);
    expect(doesNotScatter(fit([1, 1, 2, 2]))).toBe(true);
    expect(doesNotScatter(fit([1, 1.01, 2, 2]))).toBe(false);
  });
  test('are plotted by rank at Blom’s positions: of three the middle one at 0, the outer ones at 0.869 (normal quantile of 2.625 / 3.25)', () => {
    const fit = fitLinearModel({ response: [1, 2, 4], factors: {} }, []);
    const scores = residualPoints(fit, [{ plot: 'A' }, { plot: 'B' }, { plot: 'C' }]).map((one) => one.normalScore);
    expect(scores[1]).toBeCloseTo(0, 9);
    expect(scores[2]).toBeCloseTo(0.8694, 3);
    expect(scores[0]).toBeCloseTo(-scores[2]!, 9);
  });
});

test('a design that can’t be drawn says why, one that can gives the same map for the same seed', () => {
  const design = {
    layout: 'randomised-blocks' as const,
    treatments: ['check', 'iron'],
    check: 'check',
    blocks: 3,
  };
  const sizes = { swathM: 1.5, passesPerStrip: 1, stripLengthM: 4 };
  const drawn = drawTrial(design, 7, sizes);
  expect(drawn.ok).toBe(true);
  expect(drawTrial(design, 7, sizes)).toEqual(drawn);
  const none = drawTrial({ ...design, treatments: ['check'] }, 7, sizes);
  expect(none.ok === false && none.problems.length).toBeGreaterThan(0);
});

test('lists, figures and p read as a sentence says them', () => {
  expect([listed([]), listed(['a']), listed(['a', 'b']), listed(['a', 'b', 'c'])]).toEqual([
    '',
    'a',
    'a and b',
    'a, b and c',
  ]);
  expect([shown(0.012345), shown(1234)]).toEqual(['0.0123', '1230']);
  expect([pWord(0.0456), pWord(0.00001)]).toEqual(['p = 0.046', 'p < 0.0001']);
});
