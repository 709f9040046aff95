import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { readSetting, removeSettings, writeSetting } from '@/lib/diary/settings';
import {
  readKeptForecast,
  SKIES,
  type ForecastEntry,
  type KeptForecast,
} from '@/lib/forms/weather/typed-forecast-form';
import type { WeatherHour } from '@/lib/weather/hour';
import { zoneClock } from '@/lib/weather/local-time';
import { sunDay } from '@/lib/weather/sun-times';
import { typedForecastHours, type TwoSuns } from '@/lib/weather/typed-forecast';

const settingName = (lawnId: string): string => `typed-forecast-${lawnId}`;

export const typedForecast = async (lawnId: string): Promise<KeptForecast | null> =>
  readKeptForecast(await readSetting(settingName(lawnId)));

export async function keepTypedForecast(
  lawnId: string,
  { high, low, nextHigh, humidity, sky, parts }: ForecastEntry,
  entered: Record<string, string>,
  now: Date,
): Promise<void> {
  await writeSetting(settingName(lawnId), {
    typedAtMs: now.getTime(),
    highC: high,
    lowC: low,
    nextHighC: nextHigh,
    humidityPercent: humidity,
    cloudPercent: SKIES[sky],
    parts,
    entered,
  });
}

export const dropTypedForecast = (lawnId: string): Promise<void> => removeSettings([settingName(lawnId)]);

/**
 * The sun of the day a forecast was typed on and of the next; after sunset of that one and the night to come; null
 * where it doesn't rise and set.
 */
function sunsOf(lawn: Lawn, atMs: number): TwoSuns | null {
  if (lawn.latitudeDeg === null || lawn.longitudeDeg === null) return null;
  const clock = zoneClock(lawn.timeZone);
  const day = (ms: number) => sunDay(clock.wallAt(ms), lawn.latitudeDeg!, lawn.longitudeDeg!).sun;
  const [today, next] = [day(atMs), day(atMs + DAY_MS)];
  return today.kind === 'rises-and-sets' && next.kind === 'rises-and-sets'
    ? { riseMs: today.riseUtcMs, setMs: today.setUtcMs, nextRiseMs: next.riseUtcMs, nextSetMs: next.setUtcMs }
    : null;
}

/**
 * The hours a typed forecast says; none without one, without the lawn's place, or where the sun neither rises nor sets.
 */
export async function typedHours(lawnId: string): Promise<WeatherHour[]> {
  const forecast = await typedForecast(lawnId);
  const lawn = forecast ? await findLawn(lawnId) : null;
  const suns = forecast && lawn ? sunsOf(lawn, forecast.typedAtMs) : null;
  if (!forecast || !lawn || !suns) return [];
  const clock = zoneClock(lawn.timeZone);
  return typedForecastHours(forecast, suns, (ms) => clock.wallAt(ms).hour);
}
