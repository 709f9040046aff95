import { answerText } from '../support/answer-text';
import { describe, expect, test } from 'vitest';
import { listSprays } from '@/lib/diary/sprays';
import { signedIndex } from '@/lib/units/show-index';
import { answerOfSpray, answerOfTrial, latestAnswer } from '@/lib/work/diary/answers';
import { changesIn } from '@/lib/work/photos/changes';
import { analyseRecord } from '@/lib/work/trials/trial-analysis';
import { readTrial } from '@/lib/work/trials/trial-record';
import { plainLawn, useFreshDiary } from '../support/diary';
import { standAsRead } from '../support/stand';
import { entryOf, laidOut, photographTrial, plainProduct, sprayTreatment } from '../support/trial';

useFreshDiary();

/**
 * One strip unsprayed, one with iron: sprayed on the 2nd and again on the 12th; +0.05 three days after the first, +0.09
 * after the second.
 */
async function twiceSprayed() {
  const lawn = await plainLawn({ timeZone: 'UTC', unitSystem: 'metric' });
  const iron = await plainProduct({ name: 'Iron salt', fePercent: 20, role: 'iron' });
  const items = [{ productId: iron.id, rate: { value: 60, unit: 'g/100m2' as const } }];
  const trial = await laidOut(
    lawn,
    entryOf({
      blocks: 1,
      treatments: [
        { name: 'Unsprayed', isCheck: true, onSubplots: false, items: [] },
        { name: 'Iron', isCheck: false, onSubplots: false, items },
      ],
    }),
  );
  const sprayed = trial.treatments.find((one) => one.name === 'Iron')!.id;
  const photo = (at: string, gain: number) =>
    photographTrial(lawn, trial, new Date(at), (plot) => 0.4 + (plot.treatmentId === sprayed ? gain : 0));
  await photo('2026-05-01T10:00:00Z', 0);
  await sprayTreatment(lawn, trial, 'Iron', new Date('2026-05-02T08:00:00Z'));
  const first = await photo('2026-05-05T10:00:00Z', 0.05);
  await sprayTreatment(lawn, trial, 'Iron', new Date('2026-05-12T08:00:00Z'));
  const second = await photo('2026-05-15T10:00:00Z', 0.09);
  await standAsRead(lawn.id);
  const sprays = (await listSprays(lawn.id, { limit: 10 })).toReversed();
  return { lawn, trial, first, second, sprays };
}

describe('the answer of a spray', () => {
  test('ends where the plot is sprayed again, and says the very figure of the photo’s own page', async () => {
    const { lawn, first, second, sprays } = await twiceSprayed();
    const own = async (photoId: string) =>
      (await changesIn(lawn.id, [photoId])).changes.find((change) => change.headline !== null)!.headline!.value;
    expect(await own(first)).toBeCloseTo(0.05, 9);
    const { answer } = await answerOfSpray(lawn, sprays[0]!);
    expect(answerText(answer)).toMatch(/turned darker than the check by 0\.050 \(0\.040 to 0\.060\), 3 days after\.$/);
    expect(answer.flatMap((part) => (part.evidence?.kind === 'photo' ? part.evidence.id : []))).toEqual([first]);
    const again = await answerOfSpray(lawn, sprays[1]!);
    expect(answerText(again.answer)).toContain(
      `by 0.090 (0.080 to 0.100), 3 days after (${signedIndex(await own(first))} just before)`,
    );
    expect(answerText(again.answer)).toContain((await own(second)).toFixed(3));
  });

  test('the diary’s top tells the last day of spraying; before its first photo it says that nothing is known', async () => {
    const { lawn, trial } = await twiceSprayed();
    const latest = await latestAnswer(lawn, new Date('2026-05-16T00:00:00Z'));
    expect(answerText(latest!.answer)).toContain('by 0.090');
    await sprayTreatment(lawn, trial, 'Iron', new Date('2026-05-20T08:00:00Z'));
    expect(answerText((await latestAnswer(lawn, new Date('2026-05-21T00:00:00Z')))!.answer)).toBe(
      'No photo yet, so what it did isn’t known.',
    );
    expect(await latestAnswer(lawn, new Date('2026-04-01T00:00:00Z'))).toBeNull();
  });

  test('two sprays of one instant on a plot tell its change once', async () => {
    const { lawn, trial } = await twiceSprayed();
    const told = async () => answerText((await latestAnswer(lawn, new Date('2026-05-16T00:00:00Z')))!.answer);
    const before = await told();
    await sprayTreatment(lawn, trial, 'Iron', new Date('2026-05-12T08:00:00Z'));
    await standAsRead(lawn.id);
    expect(await told()).toBe(before);
    expect(before.match(/0\.090/g)).toHaveLength(1);
  });

  test('a trial of one strip each says what it shows and what it can’t', async () => {
    const { trial } = await twiceSprayed();
    const record = (await readTrial(trial.id))!;
    const change = analyseRecord(record, { measure: 'change-against-check', comparison: 'tukey', marked: 'left-out' });
    const text = answerText(answerOfTrial({ record, change }));
    expect(text).toMatch(/^On these strips Iron \(\d+\) turned darker than the check by 0\.090/);
    expect(text).toContain('What it can’t show');
  });
});
