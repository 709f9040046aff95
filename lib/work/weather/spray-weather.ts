import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { setSprayWeather, sprayMoments, type Spray, type SprayWeather } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { dryingSensitivity, dryingTime, type DryingResult, type DryingSensitivity } from '@/lib/weather/drying';
import { emptyHour, hourStartOf, type WeatherHour } from '@/lib/weather/hour';
import { zoneClock } from '@/lib/weather/local-time';
import { hoursToFirstRain, rainBetween, type RainSum } from '@/lib/weather/rain-since';
import { sunDay, type SunDay } from '@/lib/weather/sun-times';
import { NEAR_GROUND_WIND_HEIGHT_M, windOfHourAt2mMPerS } from '@/lib/weather/wind';
import { scoreSpray, type HourScore } from '@/lib/weather/window';
import type { Suitability } from '@/lib/weather/window-limits';
import { knownHours } from './known-hours';
import { filmOnLawn, placeOfLawn, type Film, windowLimitsOf } from './lawn-weather';

/** A spray whose end nobody wrote down is taken to last so long. */
const assumedLastsMs = 30 * 60_000;
/** Two weeks: as long as photographs follow a spray. */
const rainSinceMs = 14 * DAY_MS;

/** Mean of a field over a span, each hour by its share of it; null when no hour of the span has it. */
function meanOver(
  hours: readonly WeatherHour[],
  fromMs: number,
  toMs: number,
  read: (hour: WeatherHour) => number | null,
): number | null {
  let sum = 0;
  let weight = 0;
  for (const hour of hours) {
    const share = Math.min(hour.hourStartUtcMs + HOUR_MS, toMs) - Math.max(hour.hourStartUtcMs, fromMs);
    const value = read(hour);
    if (share <= 0 || value === null) continue;
    sum += value * share;
    weight += share;
  }
  return weight === 0 ? null : sum / weight;
}

/**
 * What the hours say of a spray: means over its time, wind brought to 2 m, rain of the 24 h before where all of them
 * are known. Null when none of temperature, humidity and wind is known.
 */
function weatherOfSpan(hours: readonly WeatherHour[], startMs: number, endMs: number): SprayWeather | null {
  const end = Math.max(endMs, startMs + 1);
  const rain = rainBetween(hours, startMs - DAY_MS, startMs);
  const weather: SprayWeather = {
    airTempC: meanOver(hours, startMs, end, (hour) => hour.airTempC),
    relHumidityPercent: meanOver(hours, startMs, end, (hour) => hour.relHumidityPercent),
    windMPerS: meanOver(hours, startMs, end, (hour) => windOfHourAt2mMPerS(hour)),
    windFromDeg: hours.find((hour) => hour.hourStartUtcMs === hourStartOf(startMs))?.windFromDeg ?? null,
    rainBeforeMm: rain.hoursUnknown === 0 ? rain.rainMm : null,
  };
  return weather.airTempC === null && weather.relHumidityPercent === null && weather.windMPerS === null
    ? null
    : weather;
}

/**
 * Lets the sprays of a span take their weather from the hours the diary has now; typed weather is never touched.
 * @param from first instant whose hours changed; @param to last
 * @returns how many sprays have weather from hours after it
 */
export async function attachWeather(lawnId: string, from: Date, to: Date): Promise<number> {
  const sprays = await sprayMoments(
    lawnId,
    new Date(from.getTime() - DAY_MS),
    new Date(to.getTime() + DAY_MS + HOUR_MS),
  );
  let count = 0;
  for (const spray of sprays) {
    if (spray.weatherSource === 'typed') continue;
    const start = spray.startedAt.getTime();
    const end = Math.min(spray.endedAt?.getTime() ?? start, start + DAY_MS);
    const hours = await weatherHoursBetween(lawnId, new Date(start - DAY_MS - HOUR_MS), new Date(end + 1));
    const weather = weatherOfSpan(hours, start, end);
    if (weather !== null || spray.weatherSource !== null) await setSprayWeather(spray.id, weather);
    if (weather !== null) count += 1;
  }
  return count;
}

export interface SprayLookBack {
  film: Film;
  drying: DryingResult;
  sensitivity: DryingSensitivity[];
  /** 'hours' of the diary, or the figures typed with the spray, held steady. */
  basis: 'hours' | 'typed';
  score: { verdict: Suitability; points: number; hours: HourScore[] };
  rainSince: RainSum;
  hoursToRain: number | null;
  sun: SunDay;
  assumed: string[];
}

export type SprayWeatherAnswer =
  | { kind: 'looked-back'; lookBack: SprayLookBack }
  | { kind: 'no-place' }
  | { kind: 'no-hours' };

/**
 * What the weather did to a past spray, or will do to a planned one: drying time with its inputs, the hour's score with
 * its reasons, rain since.
 */
export async function lookBackOnSpray(lawn: Lawn, spray: Spray, now: Date): Promise<SprayWeatherAnswer> {
  const place = placeOfLawn(lawn);
  if (place === null) return { kind: 'no-place' };
  const start = spray.startedAt.getTime();
  const end = Math.min(spray.endedAt?.getTime() ?? start + assumedLastsMs, start + DAY_MS);
  const until = Math.min(now.getTime(), start + rainSinceMs);
  // What happened is told by the diary's own hours; a forecast speaks for plans only.
  const readHours = spray.state === 'done' ? weatherHoursBetween : knownHours;
  const stored: readonly WeatherHour[] = await readHours(
    lawn.id,
    new Date(start - DAY_MS - 2 * HOUR_MS),
    new Date(Math.max(until, end + 2 * DAY_MS)),
  );
  const atStart = stored.find((hour) => hour.hourStartUtcMs === hourStartOf(start));
  const covered =
    atStart !== undefined &&
    atStart.airTempC !== null &&
    atStart.relHumidityPercent !== null &&
    atStart.windMPerS !== null;
  const typed =
    (spray.weatherSource === 'typed' || spray.weatherSource === 'plan') &&
    spray.airTempC !== null &&
    spray.relHumidityPercent !== null &&
    spray.windMPerS !== null;
  if (!covered && !typed && stored.length === 0) return { kind: 'no-hours' };
  const hours: readonly WeatherHour[] = covered || !typed ? stored : steady(spray, start, end, stored);
  const film = filmOnLawn(lawn, spray.carrierLPerHa);
  const plan = { ...film, startUtcMs: start };
  const clock = zoneClock(lawn.timeZone);
  const { year, month, day } = clock.wallAt(start);
  return {
    kind: 'looked-back',
    lookBack: {
      film,
      drying: dryingTime(plan, hours, place),
      sensitivity: dryingSensitivity(plan, hours, place),
      basis: covered || !typed ? 'hours' : 'typed',
      score: scoreSpray(
        { hours, place, clock, film, limits: windowLimitsOf(lawn), units: lawn.unitSystem },
        start,
        end,
      ),
      rainSince: rainBetween(stored, Math.min(end, until), until),
      hoursToRain: hoursToFirstRain(stored, Math.min(end, until), until),
      sun: sunDay({ year, month, day }, place.latitudeDeg, place.longitudeDeg),
      assumed: [
        ...place.assumed,
        ...film.assumed,
        ...(spray.endedAt === null ? ['end not written down: taken as half an hour after the start'] : []),
      ],
    },
  };
}

/** The typed figures as hours that stay the same for a day; rain and sun, where the diary knows them, are its own. */
function steady(spray: Spray, start: number, end: number, stored: readonly WeatherHour[]): WeatherHour[] {
  const known = new Map(stored.map((hour) => [hour.hourStartUtcMs, hour]));
  const hours: WeatherHour[] = [];
  for (let at = hourStartOf(start); at < end + DAY_MS; at += HOUR_MS) {
    hours.push({
      ...(known.get(at) ?? emptyHour(at)),
      airTempC: spray.airTempC,
      relHumidityPercent: spray.relHumidityPercent,
      windMPerS: spray.windMPerS,
      windHeightM: NEAR_GROUND_WIND_HEIGHT_M,
    });
  }
  return hours;
}
