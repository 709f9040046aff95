import 'server-only';
import { listTrials } from '@/lib/diary/trials';
import { analyseRecord } from './trial-analysis';
import { readTrial } from './trial-record';

/** Standard deviation of a plot's change within blocks where no trial has measured one. Our own guess, no source. */
const SCATTER_GUESS = 0.01;

/** How much plots of this lawn scatter within blocks: from its latest tested trial, else a guess that says so. */
export async function scatterOfLawn(lawnId: string): Promise<{ sd: number; from: string }> {
  for (const trial of await listTrials(lawnId)) {
    const record = await readTrial(trial.id);
    if (!record || record.readings.length === 0) continue;
    const { analysis } = analyseRecord(record, {
      measure: 'change-against-check',
      comparison: 'tukey',
      marked: 'left-out',
    });
    const tested = analysis.byDay.flatMap((day) => (day.analysis.kind === 'tested' ? [day.analysis.plotSd] : []));
    if (tested.length > 0) {
      const pooled = Math.sqrt(tested.reduce((sum, sd) => sum + sd ** 2, 0) / tested.length);
      return { sd: pooled, from: `Measured in the trial ${trial.name}, pooled over its days.` };
    }
  }
  return {
    sd: SCATTER_GUESS,
    from: `${SCATTER_GUESS} is a guess of ours, without a source: after a first trial with blocks, its own scatter is taken.`,
  };
}
