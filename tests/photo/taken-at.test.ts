import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { resolveTakenAt, zoneOffsetMinutes, type CameraTime } from '@/lib/photo/taken-at';

const camera = (wallTime: string | null, rest: Partial<CameraTime> = {}): CameraTime => ({
  wallTime,
  offsetMinutes: null,
  gpsTime: null,
  ...rest,
});
const CHICAGO = 'America/Chicago';

describe('when a photo was taken', () => {
  test('is the clock less the camera’s own offset, whatever the lawn’s zone', () => {
    const taken = resolveTakenAt(camera('2026-05-24T20:26:41.250', { offsetMinutes: 120 }), CHICAGO);
    expect(taken).toEqual({
      instant: new Date('2026-05-24T18:26:41.250Z'),
      offsetMinutes: 120,
      basis: 'exif-offset',
      doubt: null,
    });
  });

  test('without an offset is the clock in the lawn’s zone, summer and winter', () => {
    // Central time is UTC-5 in July and UTC-6 in January (Energy Policy Act of 2005; IANA tz 2005b and later).
    expect(resolveTakenAt(camera('2026-07-01T12:00:00.000'), CHICAGO)).toMatchObject({
      instant: new Date('2026-07-01T17:00:00Z'),
      offsetMinutes: -300,
      basis: 'lawn-time-zone',
      doubt: null,
    });
    expect(resolveTakenAt(camera('2026-01-01T12:00:00.000'), CHICAGO)).toMatchObject({
      instant: new Date('2026-01-01T18:00:00Z'),
      offsetMinutes: -360,
    });
  });

  test('in the hour that clocks show twice is the first of both, and says so', () => {
    // Clocks go back on the first Sunday of November at 02:00: 1 November 2026.
    expect(resolveTakenAt(camera('2026-11-01T01:30:00.000'), CHICAGO)).toMatchObject({
      instant: new Date('2026-11-01T06:30:00Z'),
      doubt: 'repeated-hour',
    });
    expect(resolveTakenAt(camera('2026-11-01T02:30:00.000'), CHICAGO)).toMatchObject({
      instant: new Date('2026-11-01T08:30:00Z'),
      doubt: null,
    });
  });

  test('in the hour that clocks leave out is moved on by that hour, and says so', () => {
    // Clocks go forward on the second Sunday of March at 02:00: 8 March 2026.
    expect(resolveTakenAt(camera('2026-03-08T02:30:00.000'), CHICAGO)).toMatchObject({
      instant: new Date('2026-03-08T08:30:00Z'),
      offsetMinutes: -300,
      doubt: 'skipped-hour',
    });
  });

  test('is settled by a fresh satellite time when the camera’s clock is in another zone', () => {
    const taken = resolveTakenAt(
      camera('2026-07-01T12:00:40.000', { gpsTime: new Date('2026-07-01T16:00:05Z') }),
      CHICAGO,
    );
    expect(taken).toMatchObject({ instant: new Date('2026-07-01T16:00:40Z'), offsetMinutes: -240, basis: 'gps-utc' });
  });

  test('is not settled by a stale satellite time', () => {
    expect(
      resolveTakenAt(camera('2026-07-01T12:00:00.000', { gpsTime: new Date('2026-07-01T16:53:00Z') }), CHICAGO).basis,
    ).toBe('lawn-time-zone');
    expect(
      resolveTakenAt(camera('2026-07-01T12:00:00.000', { gpsTime: new Date('2026-06-28T17:00:00Z') }), CHICAGO).basis,
    ).toBe('lawn-time-zone');
  });

  test('is unknown without a clock time', () =>
    expect(resolveTakenAt(camera(null), CHICAGO)).toMatchObject({ instant: null, basis: 'none' }));

  test('read back in the zone shows the clock time again, but for the hours left out', () => {
    const zones = fc.constantFrom(CHICAGO, 'Europe/Berlin', 'Australia/Lord_Howe', 'Asia/Kathmandu', 'UTC');
    const times = fc.date({
      min: new Date('2000-01-01T00:00:00Z'),
      max: new Date('2035-12-31T00:00:00Z'),
      noInvalidDate: true,
    });
    fc.assert(
      fc.property(zones, times, (zone, wall) => {
        const { instant, offsetMinutes, doubt } = resolveTakenAt(camera(wall.toISOString().slice(0, -1)), zone);
        expect(zoneOffsetMinutes(instant as Date, zone)).toBe(offsetMinutes);
        const shown = (instant as Date).getTime() + (offsetMinutes as number) * 60_000;
        expect(shown === wall.getTime()).toBe(doubt !== 'skipped-hour');
      }),
      { numRuns: 300 },
    );
  });

  test('is refused for a zone that isn’t known', () =>
    expect(() => resolveTakenAt(camera('2026-07-01T12:00:00.000'), 'Lawn/Back')).toThrow(RangeError));
});
