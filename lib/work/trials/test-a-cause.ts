import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { findProducts, type Product } from '@/lib/diary/products';
import type { Spray } from '@/lib/diary/sprays';
import { createTrial, listTrials, plotNamesTaken } from '@/lib/diary/trials';
import type { CauseTestEntry } from '@/lib/forms/cause-test-form';
import {
  CAUSE_FACTORS,
  causeDesign,
  causePhotoDays,
  causeTestProblems,
  combinationsOf,
  possibleFactors,
  sprayOrder,
  suggestedFactors,
  trialFactors,
  UNSPRAYED,
  type CauseFactor,
  type CauseFactorId,
  type CauseTestPlan,
  type Combination,
} from '@/lib/explain/cause-test';
import { readCauseTest, type TestedFactor } from '@/lib/explain/read-cause-test';
import { drawTrial } from '@/lib/trial/draw-trial';
import { analyseMarks, type MarksAnalysis, type PlotMarks } from '@/lib/trial/marks-on-plots';
import { isDryTankRate, isLiquidTankRate, type Rate } from '@/lib/units/rate';
import type { MarkCauses } from '../photos/find-causes';
import { labelOf, readTrial, type TrialRecord } from './trial-record';

/** What can be tried to find out what made a mark, and what to begin with. */
export interface CauseTestProposal {
  possible: CauseFactor[];
  suggested: CauseFactorId[];
  /** What the spray that is tried again held, in the order it was mixed. */
  sprayed: { name: string; rateEnteredValue: number; rateEnteredUnit: string }[];
  photoDays: number[];
  hoursLater: number | null;
}

type Sprayed = Pick<Spray, 'items' | 'carrierLPerHa' | 'carrierEnteredValue' | 'carrierEnteredUnit'>;

const rateOf = (item: { rateEnteredValue: number; rateEnteredUnit: string }): Rate =>
  ({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }) as Rate;
const isSalt = (product: Product | undefined): boolean =>
  product !== undefined &&
  product.role !== 'surfactant' &&
  product.fePercent === 0 &&
  product.nAmmoniacalPercent +
    product.nNitratePercent +
    product.nUreaPercent +
    product.k2oPercent +
    product.p2o5Percent >
    0;

/** Proposes a small trial for a mark that follows a spray; null without one. */
export async function proposeCauseTest({
  spray,
  facts,
  report,
  record,
}: Pick<MarkCauses, 'spray' | 'facts' | 'report' | 'record'>): Promise<CauseTestProposal | null> {
  if (!spray || !facts || !record) return null;
  const products = await findProducts(spray.items.map((item) => item.productId));
  const held = spray.items.map((item) => products.get(item.productId));
  const possible = possibleFactors({
    hasIron: held.some((product) => (product?.fePercent ?? 0) > 0),
    hasSurfactant: held.some((product) => product?.role === 'surfactant'),
    hasOtherSalts: held.some(isSalt),
    carrierKnown: facts.carrierLPerHa !== null,
    sunLeftHours: facts.sunLeftHours,
  });
  const suggested = suggestedFactors(possible, report?.kind === 'findings' ? report.findings : []);
  return {
    possible,
    suggested: suggested.length > 0 ? suggested : possible.slice(0, 2).map((factor) => factor.id),
    sprayed: spray.items.map((item) => ({
      name: item.product.name,
      rateEnteredValue: item.rateEnteredValue,
      rateEnteredUnit: item.rateEnteredUnit,
    })),
    photoDays: causePhotoDays(record.daysAfterSpray),
    hoursLater:
      facts.sunLeftHours === null || facts.sunLeftHours <= 1.25 ? null : Math.round((facts.sunLeftHours - 1) * 4) / 4,
  };
}

/** The mix of one combination: the spray's own products with what the combination changes. */
function mixOf(
  spray: Sprayed,
  products: ReadonlyMap<string, Product>,
  factors: readonly CauseFactor[],
  combination: Combination,
) {
  const changed = (id: CauseFactorId): boolean =>
    factors.some((factor, j) => factor.id === id && combination.levels[j] === 1);
  const carrierFactor = changed('carrier') ? 2 : 1;
  const items = spray.items.flatMap((item) => {
    const product = products.get(item.productId);
    if (product?.role === 'surfactant' && changed('surfactant')) return [];
    const by =
      ((product?.fePercent ?? 0) > 0 && changed('iron') ? 0.5 : 1) * (isSalt(product) && changed('strength') ? 0.5 : 1);
    // A rate per tank volume gets weaker by itself when there is more water; what lies on the ground is to stay. A
    // surfactant goes by the tank.
    const perTank =
      product?.role !== 'surfactant' && (isLiquidTankRate(rateOf(item)) || isDryTankRate(rateOf(item)))
        ? 1 / carrierFactor
        : 1;
    return [
      {
        productId: item.productId,
        rateEnteredValue: item.rateEnteredValue * by * perTank,
        rateEnteredUnit: item.rateEnteredUnit,
      },
    ];
  });
  return {
    carrierLPerHa: spray.carrierLPerHa === null ? null : spray.carrierLPerHa * carrierFactor,
    carrierEnteredValue: spray.carrierEnteredValue === null ? null : spray.carrierEnteredValue * carrierFactor,
    carrierEnteredUnit: spray.carrierEnteredUnit,
    items,
  };
}

export type CauseTestResult = { ok: true; trialId: string } | { ok: false; field: string; message: string };

/** Lays out the trial of a mark's likely causes, every mix filled in from the spray that may have made it. */
export async function layOutCauseTest(causes: MarkCauses, entry: CauseTestEntry): Promise<CauseTestResult> {
  const {
    mark,
    spray,
    record,
    facts,
    lawn: { id: lawnId },
  } = causes;
  const lawn = await findLawn(lawnId);
  if (!lawn || !spray || !record)
    return { ok: false, field: 'name', message: 'Spray: expected the spray the mark may come from, got none' };
  const proposal = await proposeCauseTest(causes);
  const factors = CAUSE_FACTORS.filter((factor) => entry.factors.includes(factor.id));
  const impossible = factors.find((factor) => !proposal?.possible.some((one) => one.id === factor.id));
  if (impossible)
    return {
      ok: false,
      field: 'factors',
      message: `What to change: expected something this spray had, got ${impossible.name}`,
    };
  const [problem] = causeTestProblems(factors, entry.fraction, entry.blocks);
  if (problem) return { ok: false, field: 'factors', message: problem };
  const combinations = combinationsOf(factors, entry.fraction);
  const design = causeDesign(combinations, entry.blocks);
  const sizes = {
    swathM: entry.swathM,
    passesPerStrip: 1,
    stripLengthM: entry.stripLengthM,
    bufferM: entry.swathM / 2,
    alleyM: entry.swathM,
    blocksInOneRow: false,
  };
  const drawn = drawTrial(design, entry.seed, sizes);
  if (!drawn.ok)
    return { ok: false, field: 'blocks', message: drawn.problems[0] ?? 'Layout: expected one that can be drawn' };
  const { map } = drawn;
  const products = await findProducts(spray.items.map((item) => item.productId));
  const order = sprayOrder(factors, combinations);
  const causeTest: CauseTestPlan = {
    kind: mark.kind,
    plotId: mark.plotId,
    plotName: mark.plotName,
    fraction: entry.fraction,
    factors: factors.map((factor) => factor.id),
    combinations,
    order,
    hoursLater: factors.some((factor) => factor.id === 'hour')
      ? (proposal?.hoursLater ?? (facts?.sunLeftHours === null ? null : 1))
      : null,
  };
  const [originX, originY] = entry.originM;
  const labels = map.plots.map((plot) => plot.label);
  const prefix = await freePrefix(lawnId, labels);
  const blank = { carrierLPerHa: null, carrierEnteredValue: null, carrierEnteredUnit: null, items: [] };
  const trialId = await createTrial(lawnId, {
    name: entry.name,
    question: `What made the mark on ${mark.plotName}: ${factors.map((factor) => factor.name).join(', ')}?`,
    design: 'randomised-blocks',
    blocks: entry.blocks,
    seed: entry.seed,
    startsOn: entry.startsOn,
    photoDays: causePhotoDays(record.daysAfterSpray),
    note: entry.where ?? '',
    causeTest,
    patchId: mark.patchId,
    layout: {
      originM: [originX, originY],
      swathM: sizes.swathM,
      passesPerStrip: 1,
      bufferM: sizes.bufferM,
      alleyM: sizes.alleyM,
      blocksInOneRow: false,
      widthM: map.widthM,
      lengthM: map.lengthM,
      diagonalM: map.diagonalM,
      stakes: map.stakes.map((stake) => ({ ...stake })),
    },
    treatments: [
      { name: UNSPRAYED, isCheck: true, onSubplots: false, ...blank },
      ...combinations.map((combination) => ({
        name: combination.name,
        isCheck: false,
        onSubplots: false,
        ...mixOf(spray, products, factors, combination),
      })),
    ],
    strips: map.plots.map((plot) => ({
      label: plot.label,
      plot: {
        name: `${prefix}${plot.label}`,
        isCheck: plot.treatment === UNSPRAYED,
        polygonM: plot.cornersM.map(([x, y]): [number, number] => [x + originX, y + originY]),
        areaM2: plot.areaM2,
      },
      cornersM: plot.cornersM.map(([x, y]): [number, number] => [x, y]),
      treatment: plot.treatment,
      subTreatment: null,
      block: plot.block,
      position: plot.position,
    })),
  });
  return { ok: true, trialId };
}

/** C1-, C2- …: the first that leaves all names free. */
async function freePrefix(lawnId: string, labels: readonly string[]): Promise<string> {
  for (let n = 1; ; n++)
    if (
      (
        await plotNamesTaken(
          lawnId,
          labels.map((label) => `C${n}-${label}`),
        )
      ).length === 0
    )
      return `C${n}-`;
}

/** Marks of a trial's strips by day: the share of each strip that is marked in its photos of the day. */
export function marksByDay(record: TrialRecord): { day: number; analysis: MarksAnalysis }[] {
  const { trial } = record;
  const after = record.readings.filter((reading) => !reading.isBefore);
  const days = [...new Set(after.map((reading) => reading.day))].sort((a, b) => a - b);
  const plan = trial.causeTest;
  const factors = plan
    ? trialFactors(
        CAUSE_FACTORS.filter((factor) => plan.factors.includes(factor.id)),
        plan.combinations,
      )
    : [];
  return days.map((day) => {
    const ofDay = after.filter((reading) => reading.day === day);
    const values = trial.plots.map((plot): PlotMarks => {
      const photos = [
        ...new Set(ofDay.filter((reading) => reading.plotId === plot.plotId).map((reading) => reading.photoId)),
      ].filter(
        (photoId) =>
          !record.omissions.some(
            (one) => one.photoId === photoId && (one.plotId === null || one.plotId === plot.plotId),
          ),
      );
      const share = (photoId: string) =>
        record.marks
          .filter((mark) => mark.photoId === photoId && mark.plotId === plot.plotId)
          .reduce((sum, mark) => sum + mark.areaShare, 0);
      return {
        plot: labelOf(trial, plot.plotId),
        block: String(plot.block + 1),
        treatment: trial.treatments.find((treatment) => treatment.id === plot.treatmentId)?.name ?? '?',
        areaShare:
          photos.length === 0 ? null : photos.reduce((sum, photoId) => sum + share(photoId), 0) / photos.length,
        excludedBecause: plot.excludedReason,
      };
    });
    return {
      day,
      analysis: analyseMarks(values, {
        layout: trial.design,
        check: trial.treatments.find((treatment) => treatment.isCheck)?.name ?? null,
        treatmentOrder: trial.treatments.map((treatment) => treatment.name),
        factors,
      }),
    };
  });
}

/**
 * What the trials laid out for a mark, or for a mark of the same kind on the same plot, say of its causes: read on the
 * day that shows the most marked strips.
 */
export async function testedCauses(
  lawnId: string,
  mark: { patchId: string; plotId: string; kind: string },
): Promise<TestedFactor[]> {
  const trials = (await listTrials(lawnId)).filter(
    ({ causeTest, patchId }) =>
      causeTest !== null &&
      (patchId === mark.patchId || (causeTest.plotId === mark.plotId && causeTest.kind === mark.kind)),
  );
  const results = await Promise.all(
    trials.map(async (trial) => {
      const record = await readTrial(trial.id);
      if (!record || !trial.causeTest) return [];
      const days = marksByDay(record);
      const markedOn = (one: (typeof days)[number]) =>
        one.analysis.treatments.counts.reduce((sum, count) => sum + count.marked, 0);
      const best = [...days].sort((a, b) => markedOn(b) - markedOn(a))[0];
      return best ? readCauseTest(trial.causeTest, trial, best.day, best.analysis) : [];
    }),
  );
  return results.flat();
}
