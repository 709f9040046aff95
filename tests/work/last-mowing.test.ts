import { expect, test } from 'vitest';
import { createEvent } from '@/lib/diary/lawn-events';
import { createPlot } from '@/lib/diary/plots';
import { momentsOfGrass } from '@/lib/work/diary/moment-events';
import { plainLawn, useFreshDiary } from '../support/diary';

useFreshDiary();

test('the last mowing since the baseline is found however many of other plots came after it, at one instant or many', async () => {
  const lawn = await plainLawn();
  const plot = (name: string, left: number) =>
    createPlot(lawn.id, {
      name,
      isCheck: false,
      polygonM: [
        [left, 0],
        [left + 1, 0],
        [left + 1, 1],
        [left, 1],
      ],
      areaM2: 1,
      note: '',
    });
  const [here, elsewhere] = [await plot('A', 0), await plot('B', 5)];
  const day = (days: number) => new Date(Date.parse('2026-04-01T12:00:00Z') + days * 86_400_000);
  await createEvent(lawn.id, { kind: 'mowing', at: day(1) }, [here.id]);
  await createEvent(lawn.id, { kind: 'mowing', at: day(2) }, [here.id]);
  for (let i = 0; i < 45; i++)
    await createEvent(lawn.id, { kind: 'mowing', at: day(i < 25 ? 10 : 10 + i) }, [elsewhere.id]);
  const photo = (plotId: string, baseline: number | null, taken = 90) => ({
    plotIds: [plotId],
    takenAt: day(taken),
    baselineAt: baseline === null ? null : day(baseline),
  });
  const asked = [
    photo(here.id, 0),
    photo(here.id, 1.5),
    photo(here.id, 2.5),
    photo(here.id, null),
    photo(elsewhere.id, 0),
    photo(here.id, 0, 95),
  ];
  const found = (await momentsOfGrass(lawn.id, asked)).map(({ mownSince }) => mownSince);
  expect(found).toEqual([day(2), day(2), null, null, day(54), day(2)]);
});
