import { Readable } from 'node:stream';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { diary } from '@/lib/diary/client';
import { findPhoto } from '@/lib/diary/photos';
import { listViewpoints } from '@/lib/diary/viewpoints';
import { calendarMonths } from '@/lib/work/diary/calendar-months';
import { correctPhoto } from '@/lib/work/photos/correct-photo';
import { takePhoto, type Arrival } from '@/lib/work/photos/take-photo';
import { plainLawn, useFreshDiary } from '../support/diary';

useFreshDiary();
const now = new Date('2026-05-01T10:00:00Z');
const jpeg = (red: number, dated?: string) => {
  const picture = sharp({ create: { width: 64, height: 48, channels: 3, background: { r: red, g: 120, b: 40 } } });
  return (dated === undefined ? picture : picture.withExif({ IFD2: { DateTimeOriginal: dated } })).jpeg().toBuffer();
};
const send = (bytes: Uint8Array, lawnId: string, more: Partial<Arrival> = {}) =>
  takePhoto(Readable.toWeb(Readable.from([bytes])) as ReadableStream<Uint8Array>, {
    lawnId,
    fileName: 'x.jpg',
    viewpointName: '',
    modified: undefined,
    now,
    ...more,
  });

describe('a date that no photo can have', () => {
  test.each(['2300:01:01 00:00:00', '9999:06:15 12:00:00', '1969:07:20 20:17:00', '2026:05:04 00:00:00'])(
    '%s of the camera is taken as unknown, with a sentence, and the calendar still opens',
    async (dated) => {
      const lawn = await plainLawn();
      const taken = await send(await jpeg(80, dated), lawn.id);
      if (!taken.ok) throw new Error(taken.message);
      expect(taken.message).toMatch(
        /^The photo came with the date \d{4}-\d\d-\d\d, which was not taken: expected one from 1990 to tomorrow\. Correct it/,
      );
      expect(await findPhoto(taken.photoId)).toMatchObject({ takenAt: now, takenAtBasis: 'upload' });
      expect((await calendarMonths(lawn, null, 4))?.months[0]?.month).toBe('2026-05');
    },
  );

  test('still to come by a few hours is kept, since clocks and zones differ, and said', async () => {
    const lawn = await plainLawn({ timeZone: 'UTC' });
    const taken = await send(await jpeg(60, '2026:05:01 18:00:00'), lawn.id);
    if (!taken.ok) throw new Error(taken.message);
    expect(taken.message).toMatch(/^The photo’s clock says 2026-05-01 18:00, which is still to come: correct it/);
    expect(await findPhoto(taken.photoId)).toMatchObject({ takenAt: new Date('2026-05-01T18:00:00Z') });
    const good = await send(await jpeg(61, '2026:05:01 10:05:00'), lawn.id);
    expect(good.message).not.toMatch(/still to come/);
  });

  test('of the upload itself counts no more than the camera’s', async () => {
    const lawn = await plainLawn();
    for (const [index, when] of [new Date('9999-12-31T00:00:00Z'), new Date(8.64e15)].entries()) {
      const taken = await send(await jpeg(90 + 40 * index), lawn.id, {
        modified: when,
        taken: { instant: when, offsetMinutes: 0 },
      });
      if (!taken.ok) throw new Error(taken.message);
      expect(await findPhoto(taken.photoId)).toMatchObject({ takenAt: now, takenAtBasis: 'upload' });
    }
  });

  test('an earlier version let in does not close the calendar', async () => {
    const lawn = await plainLawn();
    const taken = await send(await jpeg(70), lawn.id);
    if (!taken.ok) throw new Error(taken.message);
    await diary().photo.update({ where: { id: taken.photoId }, data: { takenAt: new Date('9999-06-01T00:00:00Z') } });
    await send(await jpeg(200), lawn.id);
    expect((await calendarMonths(lawn, null, 4))?.months[0]?.month).toBe('2026-05');
  });
});

test('the same new file sent many times at once is one photo, and every sender hears that it is kept', async () => {
  const lawn = await plainLawn();
  for (let round = 0; round < 5; round++) {
    const bytes = await jpeg(100 + 20 * round);
    const answers = await Promise.all(
      Array.from({ length: 4 }, () => send(bytes, lawn.id, { viewpointName: `step ${round}` })),
    );
    expect(answers.map((answer) => answer.ok)).toEqual([true, true, true, true]);
    expect(new Set(answers.map((answer) => (answer.ok ? answer.photoId : answer.message))).size).toBe(1);
  }
  expect(await diary().photo.count()).toBe(5);
});

describe('a correction', () => {
  const corrected = async (takenLocal: string) => {
    const lawn = await plainLawn({ timeZone: 'UTC' });
    const taken = await send(await jpeg(60), lawn.id);
    if (!taken.ok) throw new Error(taken.message);
    const answer = await correctPhoto(taken.photoId, { viewpoint: 'by the gate', takenLocal, note: 'a new note' }, now);
    return { answer, photo: await findPhoto(taken.photoId), viewpoints: await listViewpoints(lawn.id) };
  };

  test('with a date that can’t be writes nothing at all', async () => {
    const { answer, photo, viewpoints } = await corrected('2027-01-01T00:00');
    expect(answer).toMatchObject({
      ok: false,
      errors: { takenLocal: "Taken: expected a date from 1990 on that has been, got '2027-01-01T00:00'" },
    });
    expect([photo?.note, photo?.viewpointId, viewpoints]).toEqual(['', null, []]);
  });

  test('that is good writes all of it', async () => {
    const { answer, photo, viewpoints } = await corrected('2026-04-30T06:30');
    expect(answer).toEqual({ ok: true });
    expect(photo).toMatchObject({
      note: 'a new note',
      takenAt: new Date('2026-04-30T06:30:00Z'),
      takenAtBasis: 'typed',
      viewpointId: viewpoints[0]?.id,
    });
  });

  test('of a photo that isn’t there says so', async () => {
    expect(
      await correctPhoto('cmaaaaaaaaaaaaaaaaaaaaaaa', { viewpoint: '', takenLocal: '2026-04-30T06:30', note: '' }, now),
    ).toMatchObject({ ok: false, message: expect.stringMatching(/^Photo: expected one of this diary/) });
  });
});
