import { describe, expect, test } from 'vitest';
import { parseForm } from '@/lib/forms/fields';
import { PhotoFactsForm, UploadQuery } from '@/lib/forms/photo-form';

const query = (taken: string) => UploadQuery.safeParse({ lawn: 'cabcdefgh1', name: 'a.jpg', taken });

describe('the address of an upload', () => {
  test('the shutter’s instant is read with its offset, east and west', () => {
    expect(query('2026-05-01T07:30:00-06:00').data?.taken).toEqual({
      instant: new Date('2026-05-01T13:30:00Z'),
      offsetMinutes: -360,
    });
    expect(query('2026-05-01T07:30:00+05:30').data?.taken).toEqual({
      instant: new Date('2026-05-01T02:00:00Z'),
      offsetMinutes: 330,
    });
    expect(query('2026-05-01T07:30:00Z').data?.taken?.offsetMinutes).toBe(0);
  });

  test('a time without an offset is refused with a sentence, since it names no instant', () => {
    expect(query('2026-05-01T07:30:00').error?.issues[0]?.message).toMatch(
      /^taken: expected an instant with its offset .+, got '2026-05-01T07:30:00'$/,
    );
  });

  test('how the phone was held is read in degrees, may be missing, and no angle outside the circle is taken', () => {
    const tilt = (pitch?: string, roll?: string) =>
      UploadQuery.safeParse({ lawn: 'cabcdefgh1', name: 'a.jpg', pitch, roll });
    expect(tilt('-24.50', '1.25').data).toMatchObject({ pitch: -24.5, roll: 1.25 });
    expect(tilt().data?.pitch).toBeUndefined();
    expect(tilt('-91', '0').error?.issues[0]?.message).toBe("pitch: expected degrees from -90 to 90, got '-91'");
    expect(tilt('0', 'left').error?.issues[0]?.message).toBe("roll: expected degrees from -180 to 180, got 'left'");
  });
});

test('a correction’s date must be one of the calendar, 1990 to 2100', () => {
  const form = (takenLocal: string) => {
    const data = new FormData();
    data.set('takenLocal', takenLocal);
    return parseForm(PhotoFactsForm, data).ok;
  };
  expect(
    ['2026-02-30T10:00', '0001-01-01T00:00', '9999-12-31T00:00', '2026-13-01T00:00', '2026-05-01T24:30', ''].map(form),
  ).toEqual([false, false, false, false, false, false]);
  expect(form('2026-02-28T10:00')).toBe(true);
});
