import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { createHash } from 'node:crypto';
import { createSprayRows } from '@/lib/diary/bulk-rows';
import { addRatings } from '@/lib/diary/ratings';
import { addShareLink } from '@/lib/diary/share-links';
import { findTrial } from '@/lib/diary/trials';
import { layOutTrial } from './lay-out-trial';

/** The private link of the trial that a filled diary holds: 24 characters, as such links have. */
export const LOAD_TOKEN = 'load-load-load-load-load';


/**
 * A trial of four strips like any lawn's: the same however large the diary around it is. Its photos are made by whoever calls.
 * @param begins noon of its first day
 * @returns its id and its strips' plots
 */
export async function seedLoadTrial(lawnId: string, productId: string, begins: Date): Promise<{ trialId: string; plotIds: string[] }> {
  const laid = await layOutTrial(lawnId, {
    name: 'Iron against none', question: 'Does iron darken it?', design: 'paired-strips', blocks: 2, blockSize: null, seed: 11, startsOn: begins.toISOString().slice(0, 10), photoDays: [1, 3, 7, 14], note: '',
    swathM: 1, passesPerStrip: 1, stripLengthM: 4, bufferM: 0.25, alleyM: 1, blocksInOneRow: true, originM: [0, 0], carrierLPerHa: null, carrierEnteredValue: null, carrierEnteredUnit: null,
    treatments: [
      { name: 'none', isCheck: true, onSubplots: false, items: [] },
      { name: 'iron', isCheck: false, onSubplots: false, items: [{ productId, rate: { value: 100, unit: 'g/100m2' } }] },
    ],
  });
  if (!laid.ok) throw new Error(laid.message);
  const trial = await findTrial(laid.trialId);
  const plots = trial?.plots ?? [];
  const treated = plots.filter((plot) => !plot.plot.isCheck);
  await createSprayRows(lawnId, [{ id: 'loadspraytrial000000000', startedAt: new Date(begins.getTime() + DAY_MS / 12), productId, plotIds: treated.map((plot) => plot.plotId), areaM2: 4 }]);
  await addRatings(plots.flatMap((plot, index) => [3, 7].map((day) => ({ plotId: plot.plotId, trialId: laid.trialId, rater: 'A', score: 5 + (index % 3), blind: false, ratedAt: new Date(begins.getTime() + day * DAY_MS) }))));
  await addShareLink(laid.trialId, createHash('sha256').update(LOAD_TOKEN).digest('hex'));
  return { trialId: laid.trialId, plotIds: plots.map((plot) => plot.plotId) };
}
