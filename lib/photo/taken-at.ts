/** When a photo was taken, as its file tells it: clock time without a zone, and what else might fix it. */
export interface CameraTime {
  /** Clock time where the camera was, 'YYYY-MM-DDTHH:mm:ss.sss', or null. */
  readonly wallTime: string | null;
  /** Minutes east of UTC that the camera wrote beside it, or null. */
  readonly offsetMinutes: number | null;
  /** The time in UTC that its satellite receiver last knew, or null. */
  readonly gpsTime: Date | null;
}

export interface TakenAt {
  /** Null when the file tells no time. */
  readonly instant: Date | null;
  readonly offsetMinutes: number | null;
  /** What the instant rests on: the camera's own offset, a satellite time, the lawn's time zone, or nothing. */
  readonly basis: 'exif-offset' | 'gps-utc' | 'lawn-time-zone' | 'none';
  /**
   * Where the zone's clock made the wall time doubtful: it was shown twice (the first is taken) or never (moved on by
   * the gap).
   */
  readonly doubt: 'repeated-hour' | 'skipped-hour' | null;
}

const MINUTE_MS = 60_000;

/** Photos are dated from here on; what claims an earlier day had a clock that was never set. */
const FIRST_PHOTO_MS = Date.UTC(1990, 0, 1);

/**
 * Whether a photo can have been taken then: from 1990 to a day after now (its zone may be ahead, its clock a little).
 */
export function isPhotoDate(instant: Date, now: Date): boolean {
  const at = instant.getTime();
  return at >= FIRST_PHOTO_MS && at <= now.getTime() + 24 * 60 * MINUTE_MS;
}

const NOTHING: TakenAt = { instant: null, offsetMinutes: null, basis: 'none', doubt: null };

/**
 * The instant of a photo. The camera's own offset counts most. Without it a satellite time settles the offset, if it
 * lies within two minutes of a whole number of quarter hours from the clock (else it is stale); without that the clock
 * is read in the lawn's time zone.
 * @param timeZone IANA name, such as 'America/Chicago'
 * @throws RangeError for a time zone that isn't known
 */
export function resolveTakenAt({ wallTime, offsetMinutes, gpsTime }: CameraTime, timeZone: string): TakenAt {
  if (wallTime === null) return NOTHING;
  const wallMs = Date.parse(`${wallTime}Z`);
  if (Number.isNaN(wallMs)) throw new RangeError(`wallTime: expected YYYY-MM-DDTHH:mm:ss, got '${wallTime}'`);
  if (offsetMinutes !== null) {
    return { instant: new Date(wallMs - offsetMinutes * MINUTE_MS), offsetMinutes, basis: 'exif-offset', doubt: null };
  }
  const gpsOffset = gpsTime === null ? null : offsetFromGps(wallMs, gpsTime.getTime());
  if (gpsOffset !== null) {
    return {
      instant: new Date(wallMs - gpsOffset * MINUTE_MS),
      offsetMinutes: gpsOffset,
      basis: 'gps-utc',
      doubt: null,
    };
  }
  return { ...instantInZone(wallMs, timeZone), basis: 'lawn-time-zone' };
}

function offsetFromGps(wallMs: number, gpsMs: number): number | null {
  const minutes = (wallMs - gpsMs) / MINUTE_MS;
  const offset = Math.round(minutes / 15) * 15;
  return Math.abs(minutes - offset) <= 2 && offset >= -12 * 60 && offset <= 14 * 60 ? offset : null;
}

/** The instant at which a zone's clocks show a wall time (given as if it were UTC). */
function instantInZone(
  wallMs: number,
  timeZone: string,
): { instant: Date; offsetMinutes: number; doubt: TakenAt['doubt'] } {
  const day = 24 * 60 * MINUTE_MS;
  const before = zoneOffsetMinutes(new Date(wallMs - day), timeZone);
  const after = zoneOffsetMinutes(new Date(wallMs + day), timeZone);
  const fits = [...new Set([before, after])]
    .map((offset) => ({ offset, instant: new Date(wallMs - offset * MINUTE_MS) }))
    .filter(({ offset, instant }) => zoneOffsetMinutes(instant, timeZone) === offset)
    .sort((a, b) => a.instant.getTime() - b.instant.getTime());
  const [first] = fits;
  if (first !== undefined) {
    return { instant: first.instant, offsetMinutes: first.offset, doubt: fits.length > 1 ? 'repeated-hour' : null };
  }
  // The clocks jumped over this time: read with the offset before the jump, it lands as far after the jump as it was
  // into the gap.
  const instant = new Date(wallMs - before * MINUTE_MS);
  return { instant, offsetMinutes: zoneOffsetMinutes(instant, timeZone), doubt: 'skipped-hour' };
}

/**
 * Minutes east of UTC of a zone's clocks at an instant.
 * Exported for the zones of the world, which it is held to.
 * @throws RangeError for a time zone that isn't known
 */
export function zoneOffsetMinutes(instant: Date, timeZone: string): number {
  const parts = new Intl.DateTimeFormat('en-US', {
    timeZone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  }).formatToParts(instant);
  const part = (type: Intl.DateTimeFormatPartTypes): number => Number(parts.find((p) => p.type === type)?.value);
  const shown = Date.UTC(part('year'), part('month') - 1, part('day'), part('hour'), part('minute'), part('second'));
  return Math.round((shown - Math.floor(instant.getTime() / 1000) * 1000) / MINUTE_MS);
}
