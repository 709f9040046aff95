import 'server-only';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { readSetting } from '@/lib/diary/settings';
import { readKeptAnswer } from '@/lib/forms/weather/weather-service';
import type { WeatherHour } from '@/lib/weather/hour';
import { missingFigures } from '@/lib/weather/missing-figures';
import { typedHours } from './typed-forecast';

/** Where the diary keeps the last good answer of the weather service for a lawn. */
export const answerName = (lawnId: string) => `weather-answer-${lawnId}`;

/** An hour, with what it lacks from a source it stands above. */
const filledFrom = (hour: WeatherHour, below: WeatherHour | undefined): WeatherHour =>
  below ? { ...hour, ...missingFigures(hour, below) } : hour;

/** A typed sky says how much sun there is; a service's own figure would gainsay it. */
const belowTyped = (typed: WeatherHour, service: WeatherHour): WeatherHour =>
  typed.cloudPercent === null ? service : { ...service, solarWPerM2: null };

/**
 * All that is known of a lawn's hours in a span, in order of time: figure by figure the diary's own, for the rest a
 * forecast that a person typed, and for what that leaves the last one of the service.
 * Asks nobody, so a page can wait for it.
 */
export async function knownHours(lawnId: string, from: Date, to: Date): Promise<WeatherHour[]> {
  const [stored, kept, typed] = await Promise.all([
    weatherHoursBetween(lawnId, from, to),
    readSetting(answerName(lawnId)),
    typedHours(lawnId),
  ]);
  const byStart = new Map<number, WeatherHour>();
  const within = ({ hourStartUtcMs }: WeatherHour) => hourStartUtcMs >= from.getTime() && hourStartUtcMs < to.getTime();
  for (const hour of (readKeptAnswer(kept)?.hours ?? []).filter(within)) byStart.set(hour.hourStartUtcMs, hour);
  for (const hour of typed.filter(within)) {
    const service = byStart.get(hour.hourStartUtcMs);
    byStart.set(hour.hourStartUtcMs, filledFrom(hour, service && belowTyped(hour, service)));
  }
  for (const hour of stored) byStart.set(hour.hourStartUtcMs, filledFrom(hour, byStart.get(hour.hourStartUtcMs)));
  return [...byStart.values()].sort((a, b) => a.hourStartUtcMs - b.hourStartUtcMs);
}
