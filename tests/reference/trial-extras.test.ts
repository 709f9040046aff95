// Rate response, covariance, equivalence, spread of pairs and several comparisons at once, against R 4.2.2
// (r-trial-extras.R), and the efficiency of blocks from a printed table.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { adjustedAnova } from '@/lib/stats/anova';
import { adjustedMeans, alikeTo, protectedLsd } from '@/lib/stats/compare-means';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { largestT } from '@/lib/stats/max-t';
import { rateResponse } from '@/lib/stats/rate-response';
import { pitmanMorgan } from '@/lib/stats/variance-tests';
import { blockingOf } from '@/lib/trial/precision';
import { holm } from '@/lib/trial/repeated-days';

interface Extras {
  rate: {
    rate: number[];
    block: string[];
    y: number[];
    slope: number;
    slopeSe: number;
    linearP: number;
    quadratic: number;
    quadraticSe: number;
    quadraticP: number;
    lackF: number;
    lackP: number;
    turn: number;
  };
  covariance: {
    trt: string[];
    block: string[];
    x: number[];
    y: number[];
    mean: number[];
    se: number[];
    difference: number[];
    dse: number[];
    p: number[];
    f: number;
  };
  pitman: { x: number[]; y: number[]; t: number; p: number };
  alike: { group: string[]; value: number[]; margin: number; p: number[]; low: number[]; high: number[] };
  holm: { p: number[]; adjusted: number[] };
  largest: { correlation: number[][]; df: number; at: number[]; p: number[]; quantile: number };
}
const r = JSON.parse(readFileSync(new URL('r-trial-extras.json', import.meta.url), 'utf8')) as Extras;
const farthest = (got: readonly number[], want: readonly number[]): number =>
  got.length === want.length ? Math.max(...got.map((value, i) => Math.abs(value - want[i]!))) : Infinity;

describe('against R', () => {
  test('rate response with unequal steps: slope, bend, lack of fit and turning point', () => {
    const { rate, block, y } = r.rate;
    const fit = fitLinearModel({ response: y, factors: { block, rate: rate.map(String) } }, [['block'], ['rate']]);
    const got = rateResponse(
      adjustedMeans(fit, 'rate')!.table,
      Object.fromEntries(rate.map((one) => [String(one), one])),
    )!;
    expect(got.linear.value).toBeCloseTo(r.rate.slope, 9);
    expect((got.linear.high - got.linear.low) / 2 / r.rate.slopeSe).toBeCloseTo(2.17881283, 6); // t(0.975; 12)
    expect(got.linear.p).toBeCloseTo(r.rate.linearP, 9);
    expect(got.quadratic!.value).toBeCloseTo(r.rate.quadratic, 9);
    expect(got.quadratic!.p).toBeCloseTo(r.rate.quadraticP, 9);
    expect(got.lackOfFit!.f).toBeCloseTo(r.rate.lackF, 8);
    expect(got.lackOfFit!.p).toBeCloseTo(r.rate.lackP, 9);
    expect(got.turnsAt).toBeCloseTo(r.rate.turn, 7);
  });
  test('the value before as covariate: adjusted means, differences and F', () => {
    const { trt, block, x, y } = r.covariance;
    const fit = fitLinearModel({ response: y, factors: { block, treatment: trt }, covariates: { baseline: x } }, [
      ['baseline'],
      ['block'],
      ['treatment'],
    ]);
    const { table } = adjustedMeans(fit, 'treatment')!;
    expect(farthest(table.means, r.covariance.mean)).toBeLessThan(1e-9);
    const pairs = protectedLsd(table, 0);
    expect(
      farthest(
        pairs.map((one) => one.difference),
        r.covariance.difference,
      ),
    ).toBeLessThan(1e-9);
    expect(
      farthest(
        pairs.map((one) => one.standardError),
        r.covariance.dse,
      ),
    ).toBeLessThan(1e-9);
    expect(
      farthest(
        pairs.map((one) => one.p),
        r.covariance.p,
      ),
    ).toBeLessThan(1e-8);
    expect(adjustedAnova(fit).rows.find((row) => row.source === 'treatment')!.f).toBeCloseTo(r.covariance.f, 8);
  });
  test('Pitman and Morgan', () => {
    const got = pitmanMorgan(r.pitman.x.map((x, i) => [x, r.pitman.y[i]!] as const))!;
    expect(got.t).toBeCloseTo(r.pitman.t, 9);
    expect(got.p).toBeCloseTo(r.pitman.p, 9);
  });
  test('alike within a margin: p and interval of the one-sided Dunnett (R draws its integrals, so to 2e-4)', () => {
    const fit = fitLinearModel({ response: r.alike.value, factors: { treatment: r.alike.group } }, [['treatment']]);
    const got = alikeTo(adjustedMeans(fit, 'treatment')!.table, 'check', r.alike.margin);
    expect(
      farthest(
        got.map((one) => one.p),
        r.alike.p,
      ),
    ).toBeLessThan(1e-5);
    expect(
      farthest(
        got.map((one) => one.low),
        r.alike.low,
      ),
    ).toBeLessThan(1e-3);
    expect(
      farthest(
        got.map((one) => one.high),
        r.alike.high,
      ),
    ).toBeLessThan(1e-3);
    for (const one of got) expect(one.alike).toBe(one.low > -r.alike.margin && one.high < r.alike.margin);
  });
  test('Holm', () => expect(farthest(holm(r.holm.p), r.holm.adjusted)).toBeLessThan(1e-12));
  test('the largest |t| of correlated days, drawn: p within three standard errors of 9,999 draws', () => {
    const got = largestT(r.largest.correlation, r.largest.df);
    r.largest.at.forEach((t, i) =>
      expect(Math.abs(got.pOf(t) - r.largest.p[i]!)).toBeLessThan(
        3 * Math.sqrt((r.largest.p[i]! * (1 - r.largest.p[i]!)) / 9999),
      ),
    );
    expect(Math.abs(got.quantile(0.95) - r.largest.quantile)).toBeLessThan(0.06);
    expect(got.pOf(got.quantile(0.95))).toBeCloseTo(0.05, 3);
  });
});

describe('efficiency of blocks', () => {
  test('seeding rate of rice, 6 treatments in 4 blocks, from its printed mean squares 648,120 and 110,558: 1.60 (Gomez & Gomez 1984, 2.2.4; the 1.60 from memory)', () => {
    const efficiency = (blockMs: number, errorMs: number) =>
      blockingOf(
        {
          kind: 'each after the others',
          rows: [
            { source: 'block', df: 3, ss: 3 * blockMs, ms: blockMs, f: null, p: null, testedAgainst: 'error' },
            { source: 'error', df: 15, ss: 15 * errorMs, ms: errorMs, f: null, p: null, testedAgainst: null },
          ],
        },
        { block: ['1', '2', '3', '4'] },
        24,
      )[0]!.efficiency;
    expect(efficiency(648_120, 110_558)).toBeCloseTo(1.6, 1);
    // Blocks no unlike than plots cost the degrees of freedom they take: (16 × 21) / (18 × 19) of what there was.
    expect(efficiency(1, 1)).toBeCloseTo((16 * 21) / (18 * 19), 12);
  });
});
