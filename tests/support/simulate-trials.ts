// Size and power of every test that a trial's report prints, by seeded simulation: node --conditions=react-server
// --import tsx tests/support/simulate-trials.ts [RUNS] [PART OF A NAME]. Each row: how often it speaks at the 5% level
// when nothing was done (should lie near 5%), and how often with a true difference beside what is promised for it. The
// full run takes RUNS = 2000.
import { seededRandom, type Random } from '@/lib/stats/random';
import { groupedRegression } from '@/lib/stats/grouped-regression';
import { rankTest } from '@/lib/stats/rank-tests';
import { rateResponse } from '@/lib/stats/rate-response';
import { adjustedMeans, alikeTo } from '@/lib/stats/compare-means';
import { fitLinearModel } from '@/lib/stats/linear-model';
import { analyseValues, type AnalysisPlan, type PlotValue } from '@/lib/trial/analyse';
import { presencePower } from '@/lib/explain/cause-test-power';
import { sightOf } from '@/lib/trial/design-power';
import { hasTwoFactors, type TrialDesign } from '@/lib/trial/design';
import { overDays } from '@/lib/trial/repeated-days';
import { randomiseTrial } from '@/lib/trial/randomise';
import { powerOfDifference } from '@/lib/stats/power';
import { pitmanMorgan } from '@/lib/stats/variance-tests';

/** What one simulated trial says: yes or no for each test. */
type Says = Record<string, boolean>;

/** A test's row: simulated share, and what it should be. */
export interface SimulatedRow {
  readonly name: string;
  readonly share: number;
  readonly expected: number;
  readonly runs: number;
}

export interface Setting {
  readonly name: string;
  readonly design: TrialDesign;
  /** SD of blocks, main plots (or strips along), strips across; plots have 1. */
  readonly sd: { block: number; main: number; cross: number };
  readonly missing: number;
}

const K4 = ['check', 'b', 'c', 'd'];
/** The layouts that are simulated. */
// prettier-ignore
export const SETTINGS: readonly Setting[] = [
  { name: 'blocks 4×4', design: { layout: 'randomised-blocks', treatments: K4, check: 'check', blocks: 4 }, sd: { block: 2, main: 0, cross: 0 }, missing: 0 },
  { name: 'blocks 4×5, 2 missing', design: { layout: 'randomised-blocks', treatments: K4, check: 'check', blocks: 5 }, sd: { block: 2, main: 0, cross: 0 }, missing: 2 },
  { name: 'pairs 6', design: { layout: 'paired-strips', treatments: ['check', 'b'], check: 'check', blocks: 6 }, sd: { block: 2, main: 0, cross: 0 }, missing: 0 },
  { name: 'no blocks 3×5', design: { layout: 'completely-randomised', treatments: ['check', 'b', 'c'], check: 'check', blocks: 5 }, sd: { block: 0, main: 0, cross: 0 }, missing: 0 },
  { name: 'incomplete 6 in 3', design: { layout: 'incomplete-blocks', treatments: ['check', 'b', 'c', 'd', 'e', 'f'], check: 'check', blocks: 10, blockSize: 3 }, sd: { block: 1.5, main: 0, cross: 0 }, missing: 0 },
  { name: 'Latin 4', design: { layout: 'latin-square', treatments: K4, check: 'check', blocks: 4 }, sd: { block: 2, main: 0, cross: 0 }, missing: 0 },
  { name: 'split 3×3×4', design: { layout: 'split-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 1, cross: 0 }, missing: 0 },
  { name: 'split 3×3×4, 3 missing', design: { layout: 'split-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 1, cross: 0 }, missing: 3 },
  { name: 'split without main-plot variance, 3 missing', design: { layout: 'split-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 0, cross: 0 }, missing: 3 },
  { name: 'strip 3×3×4', design: { layout: 'strip-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 1, cross: 1 }, missing: 0 },
  { name: 'strip 3×3×4, 3 missing', design: { layout: 'strip-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 1, cross: 1 }, missing: 3 },
  { name: 'strips that do not scatter', design: { layout: 'strip-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 0, cross: 0 }, missing: 0 },
  { name: 'strips that do not scatter, 3 missing', design: { layout: 'strip-plot', treatments: ['check', 'm2', 'm3'], subTreatments: ['s1', 's2', 's3'], check: 'check', blocks: 4 }, sd: { block: 2, main: 0, cross: 0 }, missing: 3 },
];

/** The plots of one such trial, with `effect` on the plots of one treatment. */
export function draw(
  { design, sd, missing }: Setting,
  random: Random,
  effect: { treatment: string; size: number } | null,
): PlotValue[] {
  const levels = new Map<string, number>();
  const levelOf = (key: string, size: number): number => {
    if (!levels.has(key)) levels.set(key, size * random.normal());
    return levels.get(key)!;
  };
  const values = randomiseTrial(design, random).map((plot): PlotValue => {
    const of =
      effect !== null && (plot.treatment === effect.treatment || plot.subTreatment === effect.treatment)
        ? effect.size
        : 0;
    const value =
      10 +
      of +
      levelOf(`b${plot.block}`, sd.block) +
      levelOf(`m${plot.block} ${plot.treatment}`, sd.main) +
      levelOf(`s${plot.block} ${plot.subTreatment ?? ''}`, sd.cross) +
      random.normal();
    return {
      plot: `${plot.block}-${plot.position}`,
      block: String(plot.block),
      column: String(plot.position),
      treatment: plot.treatment,
      subTreatment: plot.subTreatment,
      day: 1,
      value,
    };
  });
  const gone = new Set(random.shuffled(values.map((_, i) => i)).slice(0, missing));
  return values.map((one, i) => (gone.has(i) ? { ...one, value: null } : one));
}

function planOf(design: TrialDesign): AnalysisPlan {
  return { layout: design.layout, measure: 'index', check: design.check, scale: 'interval', comparison: 'tukey' };
}

function says(values: readonly PlotValue[], design: TrialDesign): Says | null {
  const got = analyseValues(values, planOf(design));
  if (got.kind !== 'tested') return null;
  const result: Says = {};
  for (const factor of got.factors) {
    const name = got.factors.length > 1 ? `, ${factor.factor}` : '';
    result[`F${name}`] = factor.p < 0.05;
    result[`Tukey${name}`] = factor.pairs.some((pair) => pair.significant);
    if (factor.againstCheck) result[`Dunnett${name}`] = factor.againstCheck.some((pair) => pair.significant);
  }
  for (const note of got.assumptions)
    if (note.verdict !== 'cannot tell' && note.about !== 'few plots') result[note.about] = note.verdict === 'caution';
  if (got.simpleEffects)
    result['simple effects, one group'] = got.simpleEffects[0]!.pairs.some((pair) => pair.significant);
  return result;
}

/** Shares of yes over the runs that gave a test. */
function shares(runs: number, one: () => Says | null): Map<string, { yes: number; of: number }> {
  const counts = new Map<string, { yes: number; of: number }>();
  for (let run = 0; run < runs; run++) {
    for (const [name, yes] of Object.entries(one() ?? {})) {
      const count = counts.get(name) ?? { yes: 0, of: 0 };
      counts.set(name, { yes: count.yes + Number(yes), of: count.of + 1 });
    }
  }
  return counts;
}

const row = (name: string, { yes, of }: { yes: number; of: number }, expected: number): SimulatedRow => ({
  name,
  share: yes / of,
  expected,
  runs: of,
});

function layoutRows(runs: number, wanted: (name: string) => boolean): SimulatedRow[] {
  return SETTINGS.filter((setting) => wanted(setting.name)).flatMap((setting) => {
    const random = seededRandom(`size ${setting.name}`);
    const rows = [...shares(runs, () => says(draw(setting, random, null), setting.design))].map(([name, count]) =>
      row(`${setting.name}: ${name}, nothing done`, count, 0.05),
    );
    // Power as the planner promises it, for complete layouts whose main plots scatter as it assumes.
    const sight = sightOf(setting.design)[hasTwoFactors(setting.design.layout) ? 1 : 0];
    if (!sight || setting.missing > 0 || setting.name.includes('not scatter')) return rows;
    const treatment = hasTwoFactors(setting.design.layout) ? 's3' : 'b';
    const size = 3 * sight.standardErrorPerSd;
    const powered = shares(runs, () => {
      const got = analyseValues(draw(setting, random, { treatment, size }), planOf(setting.design));
      if (got.kind !== 'tested') return null;
      const factor = got.factors.find((one) => one.means.some((mean) => mean.treatment === treatment))!;
      const pairs = sight.verdict === 'against the check' ? factor.againstCheck! : factor.pairs;
      return {
        power: pairs.find(
          (pair) =>
            (pair.a === treatment || pair.b === treatment) &&
            (sight.verdict === 'against the check' || pair.a === 's1' || pair.b === 's1'),
        )!.significant,
      };
    });
    return [
      ...rows,
      row(
        `${setting.name}: ${sight.verdict}, a true difference`,
        powered.get('power')!,
        powerOfDifference({ ...sight, standardError: sight.standardErrorPerSd, difference: size }),
      ),
    ];
  });
}

function dayRows(runs: number): SimulatedRow[] {
  const design: TrialDesign = {
    layout: 'randomised-blocks',
    treatments: ['check', 'b', 'c'],
    check: 'check',
    blocks: 4,
  };
  return (['compound symmetry', 'autoregressive'] as const).flatMap((structure) => {
    const random = seededRandom(`days ${structure}`);
    const days = [1, 3, 7, 14];
    const counts = shares(runs, () => {
      const values = randomiseTrial(design, random).flatMap((plot): PlotValue[] => {
        const own = random.normal();
        let walk = random.normal();
        return days.map((day, i) => {
          const kept = i === 0 ? 0 : 0.9 ** (day - days[i - 1]!);
          walk = kept * walk + Math.sqrt(1 - kept ** 2) * random.normal();
          return {
            plot: `${plot.block}-${plot.position}`,
            block: String(plot.block),
            treatment: plot.treatment,
            day,
            value: structure === 'autoregressive' ? walk : own + random.normal(),
          };
        });
      });
      const plan = planOf(design);
      const byDay = days.map((day) => ({
        day,
        analysis: analyseValues(
          values.filter((one) => one.day === day),
          plan,
        ),
      }));
      const got = overDays(values, plan, byDay);
      if (!got?.model) return null;
      return {
        treatment: got.model.treatment.p < 0.05,
        'treatment × day': got.model.byDay.p < 0.05,
        'any day against the check': got.model.comparisons.some((one) => one.p < 0.05),
        'any day by Holm': got.days.some((day) => day.holm < 0.05),
      };
    });
    return [...counts].map(([name, count]) => row(`4 days, ${structure}: ${name}, nothing done`, count, 0.05));
  });
}

function diaryRows(runs: number): SimulatedRow[] {
  const random = seededRandom('diary');
  const counts = shares(runs, () => {
    const sprays = Array.from({ length: 12 }, () => ({ x: random.normal(), level: 0.7 * random.normal() }));
    const plots = Array.from({ length: 5 }, () => 0.7 * random.normal());
    const rows = sprays.flatMap((spray, s) =>
      plots.flatMap((plot, p) =>
        random.next() < 0.8
          ? [{ spray: `s${s}`, plot: `p${p}`, x: spray.x, y: spray.level + plot + random.normal() }]
          : [],
      ),
    );
    const got = groupedRegression(
      rows.map((one) => one.y),
      { x: rows.map((one) => one.x) },
      { spray: rows.map((one) => one.spray), plot: rows.map((one) => one.plot) },
    );
    return got ? { slope: got.slopes[0]!.p < 0.05 } : null;
  });
  return [...counts].map(([name, count]) => row(`diary, 12 sprays on 5 plots: ${name}, nothing done`, count, 0.05));
}

function smallRows(runs: number): SimulatedRow[] {
  const random = seededRandom('small');
  const ranks = (k: number, b: number) => () => {
    const test = rankTest(
      Array.from({ length: b }, () =>
        Array.from({ length: k }, (_, treatment) => ({ treatment, value: random.normal() })),
      ),
      k,
    )!;
    return { [`Friedman ${k} treatments, ${b} blocks (exact: at most 5%)`]: test.p <= 0.05 };
  };
  const presence = (withShare: number, without: number) => () => {
    const blocks = Array.from({ length: 10 }, () => [
      { treatment: 0, value: random.next() < withShare ? 1 : 0 },
      { treatment: 1, value: random.next() < without ? 1 : 0 },
    ]);
    return { presence: (rankTest(blocks, 2)?.p ?? 1) < 0.05 };
  };
  const rates = () => {
    const treatment = Array.from({ length: 20 }, (_, i) => ['0', '1', '2', '4', '8'][i % 5]!);
    const block = treatment.map((_, i) => `b${Math.floor(i / 5)}`);
    const fit = fitLinearModel({ response: treatment.map(() => random.normal()), factors: { block, treatment } }, [
      ['block'],
      ['treatment'],
    ]);
    const { table } = adjustedMeans(fit, 'treatment')!;
    const got = rateResponse(table, { '0': 0, '1': 1, '2': 2, '4': 4, '8': 8 })!;
    return {
      'rate, linear': got.linear.p < 0.05,
      'rate, bend': got.quadratic!.p < 0.05,
      'rate, lack of fit': got.lackOfFit!.p < 0.05,
    };
  };
  const margin = () => {
    // All treatments lie just at the margin, half of them on either side: any called alike is an error.
    const treatment = Array.from({ length: 40 }, (_, i) => ['check', 'b', 'c', 'd'][i % 4]!);
    const block = treatment.map((_, i) => `b${Math.floor(i / 4)}`);
    const fit = fitLinearModel(
      {
        response: treatment.map((t) => random.normal() + (t === 'check' ? 0 : t === 'c' ? -2 : 2)),
        factors: { block, treatment },
      },
      [['block'], ['treatment']],
    );
    return {
      'alike within a margin, true differences at the margin': alikeTo(
        adjustedMeans(fit, 'treatment')!.table,
        'check',
        2,
      ).some((one) => one.alike),
    };
  };
  const spread = () => ({
    'Pitman-Morgan, 8 pairs':
      pitmanMorgan(
        Array.from({ length: 8 }, () => {
          const block = random.normal();
          return [block + random.normal(), block + random.normal()] as const;
        }),
      )!.p < 0.05,
  });
  const nothing = [ranks(3, 10), ranks(4, 8), presence(0.4, 0.4), rates, margin, spread];
  return [
    ...nothing.flatMap((one) =>
      [...shares(runs, one)].map(([name, count]) =>
        row(
          `${name === 'presence' ? 'presence of marks, 10 pairs at 40% (exact: at most 5%)' : name}, nothing done`,
          count,
          0.05,
        ),
      ),
    ),
    ...[...shares(runs, presence(0.85, 0.1))].map(([, count]) =>
      row('presence of marks, 10 pairs, 85% against 10%', count, presencePower(10, 0.85, 0.1)),
    ),
  ];
}

/** All rows whose name holds `part`. */
export function simulateTrials(runs: number, part = ''): SimulatedRow[] {
  const wanted = (name: string): boolean => name.includes(part);
  return [
    ...layoutRows(runs, wanted),
    ...(wanted('days') ? dayRows(Math.ceil(runs / 2)) : []),
    ...(wanted('diary') ? diaryRows(Math.ceil(runs / 2)) : []),
    ...(wanted('small') ? smallRows(runs) : []),
  ];
}

if (process.argv[1]?.endsWith('simulate-trials.ts')) {
  for (const { name, share, expected, runs } of simulateTrials(
    Number(process.argv[2] ?? 2000),
    process.argv[3] ?? '',
  )) {
    const error = Math.sqrt((expected * (1 - expected)) / runs);
    console.log(
      `${(100 * share).toFixed(1).padStart(5)} %  (${(100 * expected).toFixed(1)} % promised, ± ${(100 * error).toFixed(1)}, ${runs} runs)  ${name}`,
    );
  }
}
