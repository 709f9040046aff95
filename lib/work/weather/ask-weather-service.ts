import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { findLawn } from '@/lib/diary/lawns';
import { readSetting, writeSetting } from '@/lib/diary/settings';
import { keepServiceHours } from '@/lib/diary/weather-hours';
import { readForecastHours } from '@/lib/forms/weather/forecast-json';
import { readKeptAnswer, readServiceSettings, type ServiceSettings } from '@/lib/forms/weather/weather-service';
import { hourlyService } from '@/lib/station/hourly-service';
import type { CachedHours, HoursCache } from '@/lib/station/hours-source';
import { memoryCache } from '@/lib/station/memory-cache';
import { type WeatherHour } from '@/lib/weather/hour';
import { answerName } from './known-hours';
import { attachWeather } from './spray-weather';

const settingName = 'weather-service';
const outcomeName = (lawnId: string) => `weather-outcome-${lawnId}`;
/** Asked for without a span: a week back, for hours missed, and three days ahead. */
const daysBack = 7;
const daysAhead = 3;
/** An answer younger than this is not asked for again. */
const freshMs = 10 * 60_000;

export interface ServiceOutcome {
  ok: boolean;
  sentence: string;
  atUtcMs: number;
}

/** The service as set, or null while none is. */
export async function serviceSettings(): Promise<ServiceSettings | null> {
  return readServiceSettings(await readSetting(settingName));
}

export async function saveServiceSettings(settings: ServiceSettings): Promise<void> {
  await writeSetting(settingName, settings);
}

/** The last good answer for a lawn, however old, straight from the diary. */
export async function readForecast(lawnId: string): Promise<CachedHours | null> {
  const kept = readKeptAnswer(await readSetting(answerName(lawnId)));
  return kept === null ? null : { hours: kept.hours, fetchedAtUtcMs: kept.fetchedAtUtcMs };
}

/** How the last try went, or null before the first. */
export async function lastOutcome(lawnId: string): Promise<ServiceOutcome | null> {
  return (await readSetting(outcomeName(lawnId))) as ServiceOutcome | null;
}

/** One answer a lawn, in the diary: it outlives a restart, and a page can show it without asking anyone. */
function diaryCache(lawnId: string, now: Date): HoursCache {
  return {
    async get(key) {
      const kept = readKeptAnswer(await readSetting(answerName(lawnId)));
      if (kept === null) return null;
      // Asked under another address it is still the last good answer, but never a fresh one.
      return {
        hours: kept.hours,
        fetchedAtUtcMs: kept.key === key ? kept.fetchedAtUtcMs : Math.min(kept.fetchedAtUtcMs, now.getTime() - freshMs),
      };
    },
    async put(key, value) {
      await writeSetting(answerName(lawnId), {
        key,
        fetchedAtUtcMs: value.fetchedAtUtcMs,
        hours: value.hours.map((hour) => ({ ...hour })),
      });
    },
  };
}

/** Questions under way in this process, one a lawn and span: a second click joins the first. */
const holder = globalThis as { swathbookWeatherAsked?: Map<string, Promise<ServiceOutcome>> };

/**
 * Asks the weather service for a lawn's hours: keeps the answer for the window ahead, puts the hours that are over into
 * the diary and lets sprays take their weather from them. Never throws for what a service does; the outcome says it in
 * one sentence.
 * @param span history to ask for instead of the days around now
 */
export function askWeatherService(lawnId: string, now: Date, span?: { from: Date; to: Date }): Promise<ServiceOutcome> {
  const running = (holder.swathbookWeatherAsked ??= new Map());
  const key = `${lawnId} ${span ? `${span.from.getTime()} ${span.to.getTime()}` : ''}`;
  const known = running.get(key);
  if (known) return known;
  const asked = ask(lawnId, now, span).finally(() => running.delete(key));
  running.set(key, asked);
  return asked;
}

async function ask(lawnId: string, now: Date, span: { from: Date; to: Date } | undefined): Promise<ServiceOutcome> {
  const outcome = { ...(await askOnce(lawnId, now, span)), atUtcMs: now.getTime() };
  await writeSetting(outcomeName(lawnId), outcome);
  return outcome;
}

async function askOnce(
  lawnId: string,
  now: Date,
  span: { from: Date; to: Date } | undefined,
): Promise<{ ok: boolean; sentence: string }> {
  const [settings, lawn] = await Promise.all([serviceSettings(), findLawn(lawnId)]);
  if (!settings?.enabled)
    return { ok: false, sentence: 'Weather service: expected one that is turned on, got none; set its address below.' };
  if (!lawn || lawn.latitudeDeg === null || lawn.longitudeDeg === null) {
    return {
      ok: false,
      sentence: 'Weather service: expected the lawn’s latitude and longitude, got none; fill them in on the Lawn page.',
    };
  }
  const service = hourlyService({
    name: settings.name,
    addressTemplate: settings.addressTemplate,
    fieldNames: settings.fields.map((field) => field.name),
    parse: (json) => readForecastHours(json, settings),
    cache: span ? memoryCache() : diaryCache(lawnId, now),
    now: () => now.getTime(),
    timeoutMs: settings.timeoutS * 1000,
    freshMs,
  });
  const reply = await service.load({
    latitudeDeg: lawn.latitudeDeg,
    longitudeDeg: lawn.longitudeDeg,
    fromUtcMs: span?.from.getTime() ?? now.getTime() - daysBack * DAY_MS,
    toUtcMs: span?.to.getTime() ?? now.getTime() + daysAhead * DAY_MS,
  });
  if (reply.kind === 'failed') return { ok: false, sentence: reply.sentence };
  const over = reply.hours.filter((hour) => hour.hourStartUtcMs + HOUR_MS <= reply.fetchedAtUtcMs);
  await keepServiceHours(lawnId, settings.name, over);
  const sprays = await attachOver(lawnId, over);
  const ahead = reply.hours.length - over.length;
  return {
    ok: true,
    sentence: `${settings.name}: ${over.length} past and ${ahead} coming hours${reply.fromCache ? ', from the answer kept' : ''}.${sprays > 0 ? ` ${sprays} ${sprays === 1 ? 'spray has' : 'sprays have'} weather from hours.` : ''}`,
  };
}

async function attachOver(lawnId: string, hours: readonly WeatherHour[]): Promise<number> {
  const [first] = hours;
  const last = hours.at(-1);
  return first && last
    ? attachWeather(lawnId, new Date(first.hourStartUtcMs), new Date(last.hourStartUtcMs + HOUR_MS))
    : 0;
}
