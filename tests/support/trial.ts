import { randomBytes } from 'node:crypto';
import { createPhoto } from '@/lib/diary/photos';
import { createProduct, type Product } from '@/lib/diary/products';
import { replaceOutlines } from '@/lib/diary/outlines';
import { saveReadings } from '@/lib/diary/readings';
import { createSpray } from '@/lib/diary/sprays';
import { findTrial, type Trial } from '@/lib/diary/trials';
import type { Lawn } from '@/lib/diary/lawns';
import { viewpointNamed } from '@/lib/diary/viewpoints';
import type { TrialEntry } from '@/lib/forms/trial-form';
import type { Random } from '@/lib/stats/random';
import { layOutTrial } from '@/lib/work/trials/lay-out-trial';
import { standAsRead } from './stand';

/** A product with nothing on its label but what is given. */
export function plainProduct(more: Partial<Product> & { name: string }): Promise<Product> {
  return createProduct({
    generic: true,
    form: 'dry',
    role: 'other',
    nAmmoniacalPercent: 0,
    nNitratePercent: 0,
    nUreaPercent: 0,
    nOtherPercent: 0,
    p2o5Percent: 0,
    k2oPercent: 0,
    sPercent: 0,
    fePercent: 0,
    mnPercent: 0,
    mgPercent: 0,
    znPercent: 0,
    caPercent: 0,
    cautions: '',
    source: '',
    note: '',
    ...more,
  } as Parameters<typeof createProduct>[0]);
}

export const entryOf = (more: Partial<TrialEntry>): TrialEntry => ({
  name: 'Iron rates',
  question: 'Which rate?',
  design: 'randomised-blocks',
  blocks: 4,
  blockSize: null,
  seed: 11,
  startsOn: '2026-05-01',
  photoDays: [1, 3, 7, 14],
  passesPerStrip: 2,
  blocksInOneRow: false,
  note: '',
  swathM: 0.75,
  stripLengthM: 5,
  bufferM: null,
  alleyM: null,
  originM: [2, 3],
  carrierLPerHa: 600,
  carrierEnteredValue: 6,
  carrierEnteredUnit: 'L/100m2',
  treatments: [],
  ...more,
});

/** Lays out a trial and answers it as the diary holds it. */
export async function laidOut(lawn: Lawn, entry: TrialEntry): Promise<Trial> {
  const laid = await layOutTrial(lawn.id, entry);
  if (!laid.ok) throw new Error(laid.message);
  return (await findTrial(laid.trialId)) as Trial;
}

/** One spray of a treatment's items on all its plots. */
export async function sprayTreatment(lawn: Lawn, trial: Trial, name: string, startedAt: Date): Promise<void> {
  const treatment = trial.treatments.find((one) => one.name === name);
  const plots = trial.plots
    .filter((plot) => plot.treatmentId === treatment?.id)
    .map((plot) => ({ plotId: plot.plotId, areaM2: plot.plot.areaM2 }));
  await createSpray(
    lawn.id,
    {
      state: 'done',
      startedAt,
      carrierLPerHa: 600,
      carrierEnteredValue: 6,
      carrierEnteredUnit: 'L/100m2',
      airTempC: 18,
      relHumidityPercent: 60,
      windMPerS: 1,
    },
    (treatment?.items ?? []).map((item) => ({
      productId: item.productId,
      rateEnteredValue: item.rateEnteredValue,
      rateEnteredUnit: item.rateEnteredUnit,
      rateKgPerHa: item.rateEnteredValue / 10,
      rateLPerHa: null,
    })),
    plots,
  );
}

let made = 0;

/** A photo of all the trial's plots with the index given for each: no file behind it, only its rows. */
export async function photographTrial(
  lawn: Lawn,
  trial: Trial,
  takenAt: Date,
  indexOf: (plot: Trial['plots'][number]) => number,
): Promise<string> {
  const viewpoint = await viewpointNamed(lawn.id, 'From the step');
  made += 1;
  const photo = await createPhoto({
    lawnId: lawn.id,
    viewpointId: viewpoint.id,
    sha256: randomBytes(32).toString('hex'),
    kind: 'jpeg',
    fileName: `photo-${made}.jpg`,
    bytes: 1,
    widthPx: 1600,
    heightPx: 1200,
    takenAt,
    takenAtOffsetMin: 0,
    takenAtBasis: 'exif-offset',
    measureState: 'measured',
  });
  await saveReadings(
    photo.id,
    trial.plots.map((plot) => {
      const dgci = indexOf(plot);
      return {
        plotId: plot.plotId,
        takenAt,
        methodVersion: 'turf-hsb-1',
        parameters: {},
        pixels: 1000,
        turfPixels: 990,
        turfShare: 0.99,
        dgci,
        dgciLow95: dgci - 0.01,
        dgciHigh95: dgci + 0.01,
        blocks: { across: 0, along: 0, sums: [] },
      };
    }),
    [],
  );
  await replaceOutlines(
    photo.id,
    trial.plots.map((plot, i) => ({
      plotId: plot.plotId,
      corners: [
        [10 + 40 * i, 10],
        [40 + 40 * i, 10],
        [40 + 40 * i, 90],
        [10 + 40 * i, 90],
      ],
      origin: 'surveyed',
      accepted: true,
    })),
  );
  return photo.id;
}

/**
 * A replicated trial with a baseline and photos on the days given: blocks differ, light shifts all alike, treatments
 * add their gain, plots scatter by `sd`.
 */
export async function runTrial(
  lawn: Lawn,
  trial: Trial,
  random: Random,
  gain: (treatment: string, day: number) => number,
  days: readonly number[],
  sd: number,
): Promise<string[]> {
  const first = new Date('2026-05-01T08:00:00Z');
  for (const treatment of trial.treatments.filter((one) => one.items.length > 0))
    await sprayTreatment(lawn, trial, treatment.name, first);
  const nameOf = (id: string) => trial.treatments.find((one) => one.id === id)?.name ?? '';
  const photos: string[] = [];
  for (const day of [-1, ...days]) {
    const light = 0.05 * random.normal();
    photos.push(
      await photographTrial(
        lawn,
        trial,
        new Date(first.getTime() + day * 86_400_000 + 7_200_000),
        (plot) =>
          0.45 +
          light +
          0.02 * plot.block +
          (day > 0 ? gain(nameOf(plot.treatmentId), day) : 0) +
          (sd / Math.SQRT2) * random.normal(),
      ),
    );
  }
  await standAsRead(lawn.id);
  return photos;
}
