import 'server-only';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { readSetting } from '@/lib/diary/settings';
import { readKeptAnswer } from '@/lib/forms/weather/weather-service';
import type { WeatherHour } from '@/lib/weather/hour';
import { typedHours } from './typed-forecast';

/** Where the diary keeps the last good answer of the weather service for a lawn. */
export const answerName = (lawnId: string) => `weather-answer-${lawnId}`;

/**
 * All that is known of a lawn's hours in a span, in order of time: the diary's own, for the rest a forecast
 * that a person typed, and for what that leaves the last one of the service.
 * Asks nobody, so a page can wait for it.
 */
export async function knownHours(lawnId: string, from: Date, to: Date): Promise<WeatherHour[]> {
  const [stored, kept, typed] = await Promise.all([
    weatherHoursBetween(lawnId, from, to),
    readSetting(answerName(lawnId)),
    typedHours(lawnId),
  ]);
  const byStart = new Map<number, WeatherHour>();
  for (const hour of [...(readKeptAnswer(kept)?.hours ?? []), ...typed])
    if (hour.hourStartUtcMs >= from.getTime() && hour.hourStartUtcMs < to.getTime())
      byStart.set(hour.hourStartUtcMs, hour);
  for (const hour of stored) byStart.set(hour.hourStartUtcMs, hour);
  return [...byStart.values()].sort((a, b) => a.hourStartUtcMs - b.hourStartUtcMs);
}
