import { expect, test } from 'vitest';
import { createBareProduct, createSprayRows } from '@/lib/diary/bulk-rows';
import { createPlot } from '@/lib/diary/plots';
import { firstSprayOn, firstSpraysAfterPause } from '@/lib/diary/worked-out';
import { seededRandom } from '@/lib/stats/random';
import { PAUSE_DAYS, seriesStarts } from '@/lib/trial/baseline';
import { plainLawn, useFreshDiary } from '../support/diary';

useFreshDiary();

const dayMs = 86_400_000;
const start = Date.parse('2020-04-01T06:00:00.123Z');
const plotOf = (lawnId: string, name: string) =>
  createPlot(lawnId, {
    name,
    isCheck: false,
    polygonM: null,
    areaM2: 10,
    note: '',
  });

test('the database finds the first sprays after a pause as going through all sprays does, to the millisecond', async () => {
  const [lawn, other] = [await plainLawn(), await plainLawn({ name: 'Another' })];
  const productId = await createBareProduct('Salt');
  const [plot, elsewhere] = [await plotOf(lawn.id, 'A'), await plotOf(other.id, 'B')];
  const random = seededRandom('pauses');
  const pause = PAUSE_DAYS * dayMs;
  const moments = [start];
  // Steps short of the pause, exactly it, a millisecond on either side, and clearly more; some sprays at one moment.
  for (const step of [
    ...Array.from({ length: 40 }, () => random.below(160) * dayMs),
    pause,
    pause + 1,
    pause - 1,
    pause + 500,
    0,
    2 * pause,
  ])
    moments.push((moments.at(-1) as number) + step);
  await createSprayRows(
    lawn.id,
    moments.map((at, index) => ({
      id: `spray${index}`,
      startedAt: new Date(at),
      productId,
      plotIds: [plot.id],
      areaM2: 10,
      isPlan: index === 7,
    })),
  );
  await createSprayRows(other.id, [
    { id: 'elsewhere', startedAt: new Date(start - dayMs), productId, plotIds: [elsewhere.id], areaM2: 10 },
  ]);
  const done = moments.filter((_, index) => index !== 7);
  const found = (await firstSpraysAfterPause(lawn.id, PAUSE_DAYS)).map((at) => at.getTime());
  expect([...new Set(found)]).toEqual(seriesStarts(done, []));
  expect(found.length).toBeGreaterThan(5);
});

test('the first spray on some plots is the first done there from a moment on', async () => {
  const lawn = await plainLawn();
  const productId = await createBareProduct('Salt');
  const [a, b] = [await plotOf(lawn.id, 'A'), await plotOf(lawn.id, 'B')];
  const at = (days: number) => new Date(start + days * dayMs);
  const rows = [
    [0, a, false],
    [1, b, false],
    [2, a, true],
    [3, a, false],
  ] as const;
  await createSprayRows(
    lawn.id,
    rows.map(([days, plot, isPlan]) => ({
      id: `spray${days}`,
      startedAt: at(days),
      productId,
      plotIds: [plot.id],
      areaM2: 10,
      isPlan,
    })),
  );
  expect(await firstSprayOn(lawn.id, [a.id], null)).toEqual(at(0));
  expect(await firstSprayOn(lawn.id, [a.id], at(1))).toEqual(at(3));
  expect(await firstSprayOn(lawn.id, [a.id, b.id], at(1))).toEqual(at(1));
  expect(await firstSprayOn(lawn.id, [b.id], at(2))).toBeNull();
});
