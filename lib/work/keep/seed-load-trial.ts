import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { createHash } from 'node:crypto';
import { createSprayRows } from '@/lib/diary/bulk-rows';
import { addRatings } from '@/lib/diary/ratings';
import { addShareLink } from '@/lib/diary/share-links';
import { findTrial } from '@/lib/diary/trials';
import { readTypedPlan, type TypedPlan } from '@/lib/plan/typed-plan';
import { keepPlan } from '../sprays/keep-plan';
import { layOutTrial } from '../trials/lay-out-trial';

/** The private link of the trial that a filled diary holds: 24 characters, as such links have. */
export const LOAD_TOKEN = 'load-load-load-load-load';

/**
 * A trial of four strips like any lawn's: the same however large the diary around it is. Its photos are made by whoever
 * calls.
 * @param begins noon of its first day
 * @returns its id and its strips' plots
 */
export async function seedLoadTrial(
  lawnId: string,
  productId: string,
  begins: Date,
): Promise<{ trialId: string; plotIds: string[] }> {
  const laid = await layOutTrial(lawnId, {
    name: 'Iron against none',
    question: 'Does iron darken it?',
    design: 'paired-strips',
    blocks: 2,
    blockSize: null,
    seed: 11,
    startsOn: begins.toISOString().slice(0, 10),
    photoDays: [1, 3, 7, 14],
    note: '',
    swathM: 1,
    passesPerStrip: 1,
    stripLengthM: 4,
    bufferM: 0.25,
    alleyM: 1,
    blocksInOneRow: true,
    originM: [0, 0],
    carrierLPerHa: null,
    carrierEnteredValue: null,
    carrierEnteredUnit: null,
    treatments: [
      { name: 'none', isCheck: true, onSubplots: false, items: [] },
      {
        name: 'iron',
        isCheck: false,
        onSubplots: false,
        items: [{ productId, rate: { value: 100, unit: 'g/100m2' } }],
      },
    ],
  });
  if (!laid.ok) throw new Error(laid.message);
  const trial = await findTrial(laid.trialId);
  const plots = trial?.plots ?? [];
  const treated = plots.filter((plot) => !plot.plot.isCheck);
  await createSprayRows(lawnId, [
    {
      id: 'loadspraytrial000000000',
      startedAt: new Date(begins.getTime() + DAY_MS / 12),
      productId,
      plotIds: treated.map((plot) => plot.plotId),
      areaM2: 4,
    },
  ]);
  await addRatings(
    plots.flatMap((plot, index) =>
      [3, 7].map((day) => ({
        plotId: plot.plotId,
        trialId: laid.trialId,
        rater: 'A',
        score: 5 + (index % 3),
        blind: false,
        ratedAt: new Date(begins.getTime() + day * DAY_MS),
      })),
    ),
  );
  await addShareLink(laid.trialId, createHash('sha256').update(LOAD_TOKEN).digest('hex'));
  return { trialId: laid.trialId, plotIds: plots.map((plot) => plot.plotId) };
}

/** Gives a bare spray to come what a plan made on the bench holds, for a tank of 10 L. */
export async function seedLoadPlan(
  lawnId: string,
  planId: string,
  productId: string,
  plotIds: readonly string[],
  startedLocal: string,
): Promise<void> {
  const none = (unit: string) => ({ value: '', unit });
  const typed: TypedPlan = {
    startedLocal,
    plotIds,
    sprayerId: '',
    carrier: { value: '5', unit: 'L/100m2' },
    tank: { value: '10', unit: 'L' },
    headroomPercent: '',
    reservePercent: '',
    evenLoads: false,
    items: [{ productId, by: 'rate', rate: { value: '100', unit: 'g/100m2' }, nutrient: none('kg/ha'), basis: 'N' }],
    waterPh: '',
    waterAlkalinity: none('mg/L CaCO3'),
    waterHardness: none('mg/L CaCO3'),
    targetPh: '',
    acidAir: 'closed',
    jarPh: '',
    airTemp: none('degC'),
    relHumidityPercent: '',
    wind: none('m/s'),
    overLimitReason: 'a measure of speed',
    note: '',
  };
  const read = readTypedPlan(typed);
  if (read.wish === null)
    throw new Error(`a plan could not be read: ${read.faults.map((fault) => fault.sentence).join(' ')}`);
  const kept = await keepPlan(lawnId, { typed, wish: read.wish }, new Date(), planId);
  if (!kept.ok) throw new Error(kept.message);
}
