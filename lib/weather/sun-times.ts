import { HOUR_MS } from '@/lib/units/time';
import { getTimes } from 'suncalc';
import { expectInRange, expectWhole } from '@/lib/expect';
import { julianDay, solarCoordinates } from '@/lib/weather/sun-position';

/** A calendar day at the place, as its inhabitants count it. */
export interface CivilDate {
  readonly year: number;
  /** 1 to 12. */
  readonly month: number;
  /** 1 to 31. */
  readonly day: number;
}

/** When the sun crosses an altitude that day, or which side of it it stays on. */
export type SunEvents =
  | { readonly kind: 'rises-and-sets'; readonly riseUtcMs: number; readonly setUtcMs: number }
  | { readonly kind: 'always-above' }
  | { readonly kind: 'always-below' };

export interface SunDay {
  readonly solarNoonUtcMs: number;
  /** Upper limb on the horizon with mean refraction: centre at -0.833°. */
  readonly sun: SunEvents;
  /** Centre at -6°: still light enough to work. */
  readonly civilTwilight: SunEvents;
  /** Centre at -12° and -18°. */
  readonly nauticalTwilight: SunEvents;
  readonly astronomicalTwilight: SunEvents;
}

/**
 * Sunrise, sunset and twilight of one day, UTC ms, within a minute below 65° latitude.
 * Polar day and polar night are answers with a tag, not failures.
 * @param latitudeDeg north, -90 to 90
 * @param longitudeDeg east, -180 to 180
 * @throws RangeError on a value out of range
 * @see suncalc 2 (Meeus ch. 15 and 25; checked by its authors against JPL and USNO), cross-checked here with
 *   sunPosition
 */
export function sunDay(date: CivilDate, latitudeDeg: number, longitudeDeg: number): SunDay {
  expectInRange('latitudeDeg', latitudeDeg, -90, 90, '°');
  expectInRange('longitudeDeg', longitudeDeg, -180, 180, '°');
  expectWhole('year', date.year, 1900, 2200);
  expectWhole('month', date.month, 1, 12);
  expectWhole('day', date.day, 1, 31);
  // The mean solar noon of that date names the solar day without help from any time zone.
  const noonUtcMs = Date.UTC(date.year, date.month - 1, date.day, 12) - (longitudeDeg / 15) * HOUR_MS;
  // At the very pole suncalc's hour angle divides by cos 90°; a metre away the answer is the same and finite.
  const latitude = Math.min(89.99999, Math.max(-89.99999, latitudeDeg));
  const found = getTimes(new Date(noonUtcMs), latitude, longitudeDeg);
  const solarNoonUtcMs = found.solarNoon.getTime();
  // Which side the sun stays on is read from the season: above an altitude it never crosses, if noon is above it.
  const noonAltitude = 90 - Math.abs(latitude - solarCoordinates(julianDay(solarNoonUtcMs)).declinationDeg);
  const events = (rise: Date | null, set: Date | null, altitudeDeg: number): SunEvents => {
    if (rise !== null && set !== null)
      return { kind: 'rises-and-sets', riseUtcMs: rise.getTime(), setUtcMs: set.getTime() };
    return { kind: noonAltitude > altitudeDeg ? 'always-above' : 'always-below' };
  };
  return {
    solarNoonUtcMs,
    sun: events(found.sunrise, found.sunset, -0.833),
    civilTwilight: events(found.dawn, found.dusk, -6),
    nauticalTwilight: events(found.nauticalDawn, found.nauticalDusk, -12),
    astronomicalTwilight: events(found.nightEnd, found.night, -18),
  };
}
