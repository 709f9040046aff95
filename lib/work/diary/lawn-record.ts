import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import type { MarkRecord } from '@/lib/explain/causes';
import { grassSeason } from '@/lib/spray/grass-season';
import type { LawnEvent, LawnEventKind, SightingKind } from '@/lib/trial/lawn-event';
import { etoOfHours } from '@/lib/weather/eto-hours';
import { hourStartOf, type WeatherHour, type WeatherPlace } from '@/lib/weather/hour';
import { DEW_HOURS, leafWetHour, leafWetHours } from '@/lib/weather/leaf-wetness';
import { zoneClock } from '@/lib/weather/local-time';
import { rainBetween } from '@/lib/weather/rain-since';
import { sunDay } from '@/lib/weather/sun-times';
import { eventsNear } from './events-near';
import { placeOfLawn } from '../weather/lawn-weather';

/** What the diary holds of the lawn round a mark besides its spray. */
export type LawnRecord = Pick<
  MarkRecord,
  | 'grassSeason'
  | 'photoHoursAfterSunrise'
  | 'seenAfterDew'
  | 'leafWetAtPhoto'
  | 'nightMinTempC'
  | 'mowingsKnown'
  | 'mownDaysBefore'
  | 'mownSinceSpray'
  | 'sharpenedDaysBefore'
  | 'cutLowerShare'
  | 'wheelsDaysBefore'
  | 'trafficKnown'
  | 'wateringKnown'
  | 'etSinceWaterMm'
  | 'wetHoursPerDay'
  | 'diseaseSeenDaysBefore'
  | 'insectsSeenDaysBefore'
  | 'droughtSeenDaysBefore'
  | 'sightingsKnown'
  | 'weedControlDaysBefore'
  | 'productsKnown'
  | 'dustDaysBefore'
  | 'rainSinceSprayMm'
> & { readonly wateredWithin4hMm: number | null; readonly watered4hGuessed: boolean };

/** Whether a kind of event is kept at all is told from the year before. */
const KEPT_MS = 400 * DAY_MS;
const SEASON_MS = 60 * DAY_MS;
const MOWN_MS = 10 * DAY_MS;
const WEATHER_MS = 15 * DAY_MS;
const WET_MS = 5 * DAY_MS;
/** Rain or watering of a day that counts as one that reached the roots, mm. */
const WATERED_MM = 5;
/** Share of hours that must have figures before a sum over days is given. */
const KNOWN_SHARE = 0.8;

/**
 * @param sprayedAt the spray it is held against
 * @param seenAt when the first photo that shows the mark was taken
 * @param seenAgain when the others were
 */
export async function lawnRecord(
  lawn: Lawn,
  plotId: string,
  sprayedAt: Date,
  seenAt: Date,
  seenAgain: readonly Date[],
): Promise<LawnRecord> {
  const seenMs = seenAt.getTime();
  const place = placeOfLawn(lawn);
  const [events, hours] = await Promise.all([
    eventsNear(lawn.id, [plotId], new Date(seenMs - KEPT_MS), seenAt),
    weatherHoursBetween(lawn.id, new Date(seenMs - WEATHER_MS), new Date(seenMs + HOUR_MS)),
  ]);
  const daysBefore = (event: LawnEvent | undefined): number | null =>
    event === undefined ? null : (seenMs - event.at.getTime()) / DAY_MS;
  const last = (match: (event: LawnEvent) => boolean): LawnEvent | undefined => events.findLast(match);
  const kept = (kind: LawnEventKind): boolean => events.some((event) => event.kind === kind);
  const seen = (what: SightingKind): number | null =>
    daysBefore(last((event) => event.kind === 'sighting' && event.seen === what));
  const mowings = events.flatMap((event) =>
    event.kind === 'mowing' && seenMs - event.at.getTime() <= SEASON_MS ? [event] : [],
  );
  const mown = mowings.at(-1);
  const heights = [lawn.mowingHeightMm, ...mowings.map((event) => event.heightMm)].filter((height) => height !== null);
  const [before, now] = [heights.at(-2), mown?.heightMm];
  const watered = last(
    (event) =>
      (event.kind === 'watering' || event.kind === 'rain') &&
      event.at >= sprayedAt &&
      event.at.getTime() < sprayedAt.getTime() + 4 * HOUR_MS,
  );
  const photoHour = hours.find((hour) => hour.hourStartUtcMs === hourStartOf(seenMs));
  const night = hours.flatMap((hour) =>
    hour.hourStartUtcMs > seenMs - 12 * HOUR_MS && hour.hourStartUtcMs <= seenMs && hour.airTempC !== null
      ? [hour.airTempC]
      : [],
  );
  const wet = leafWetHours(
    hours.filter((hour) => hour.hourStartUtcMs >= seenMs - WET_MS && hour.hourStartUtcMs < seenMs),
  );
  const rain = rainBetween(hours, Math.min(sprayedAt.getTime(), seenMs), seenMs);
  return {
    grassSeason: grassSeason(lawn.grass),
    photoHoursAfterSunrise: place === null ? null : hoursAfterSunrise(lawn, place, seenMs),
    seenAfterDew:
      place !== null && seenAgain.some((at) => (hoursAfterSunrise(lawn, place, at.getTime()) ?? 0) > DEW_HOURS),
    leafWetAtPhoto: photoHour === undefined ? null : leafWetHour(photoHour),
    nightMinTempC: night.length >= 6 ? Math.min(...night) : null,
    mowingsKnown: mowings.length,
    mownDaysBefore: mown === undefined || seenMs - mown.at.getTime() > MOWN_MS ? null : daysBefore(mown),
    mownSinceSpray: mowings.length === 0 ? null : mowings.some((event) => event.at >= sprayedAt),
    sharpenedDaysBefore: daysBefore(last((event) => event.kind === 'mowing' && event.bladeSharpened)),
    cutLowerShare:
      before === undefined || now === null || now === undefined || before <= 0 ? null : Math.max(0, 1 - now / before),
    wheelsDaysBefore: daysBefore(
      last((event) => event.kind === 'traffic' && event.traffic === 'wheels' && seenMs - event.at.getTime() <= MOWN_MS),
    ),
    trafficKnown: kept('traffic') || kept('renovation'),
    wateringKnown: kept('watering'),
    etSinceWaterMm: place === null ? null : evaporatedSinceWater(hours, events, place, seenMs),
    wetHoursPerDay: wet.wet + wet.dry >= (KNOWN_SHARE * WET_MS) / HOUR_MS ? (24 * wet.wet) / (wet.wet + wet.dry) : null,
    diseaseSeenDaysBefore: seen('disease'),
    insectsSeenDaysBefore: seen('insects'),
    droughtSeenDaysBefore: seen('drought'),
    sightingsKnown: kept('sighting'),
    weedControlDaysBefore: daysBefore(last((event) => event.kind === 'product' && event.use === 'weed-control')),
    productsKnown: kept('product'),
    dustDaysBefore: daysBefore(
      last(
        (event) =>
          (event.kind === 'renovation' && ['topdressed', 'aerated', 'dethatched'].includes(event.done)) ||
          (event.kind === 'product' && event.use === 'lime'),
      ),
    ),
    rainSinceSprayMm:
      rain.hoursUnknown > (1 - KNOWN_SHARE) * (rain.hoursKnown + rain.hoursUnknown) ? null : rain.rainMm,
    // A watering nobody measured still rinsed the leaf: counted as the day's least that reaches the roots.
    wateredWithin4hMm:
      watered === undefined
        ? null
        : watered.kind === 'watering' || watered.kind === 'rain'
          ? (watered.waterMm ?? WATERED_MM)
          : null,
    watered4hGuessed: (watered?.kind === 'watering' || watered?.kind === 'rain') && watered.waterMm === null,
  };
}

function hoursAfterSunrise(lawn: Lawn, place: WeatherPlace, atMs: number): number | null {
  const { year, month, day } = zoneClock(lawn.timeZone).wallAt(atMs);
  const { sun } = sunDay({ year, month, day }, place.latitudeDeg, place.longitudeDeg);
  return sun.kind === 'rises-and-sets' ? (atMs - sun.riseUtcMs) / HOUR_MS : null;
}

/**
 * Reference evapotranspiration since rain and watering of a day came to 5 mm, mm: all of the hours looked at where none
 * did; null with too few figures.
 */
function evaporatedSinceWater(
  hours: readonly WeatherHour[],
  events: readonly LawnEvent[],
  place: WeatherPlace,
  untilMs: number,
): number | null {
  const water = hours.map((hour) => ({ atMs: hour.hourStartUtcMs + HOUR_MS, mm: hour.rainMm ?? 0 }));
  const rainKnown = hours.some((hour) => hour.rainMm !== null);
  for (const event of events) {
    if (event.kind === 'watering' || (event.kind === 'rain' && !rainKnown))
      water.push({ atMs: event.at.getTime(), mm: event.waterMm ?? WATERED_MM });
  }
  const wateredAt = water
    .filter((one) => one.mm > 0 && one.atMs <= untilMs)
    .sort((a, b) => b.atMs - a.atMs)
    .find(
      (one) =>
        water.reduce(
          (sum, other) => (other.atMs <= one.atMs && other.atMs > one.atMs - DAY_MS ? sum + other.mm : sum),
          0,
        ) >= WATERED_MM,
    )?.atMs;
  const fromMs = wateredAt ?? untilMs - WEATHER_MS;
  const since = etoOfHours(hours, place).filter(
    (hour) => hour.hourStartUtcMs >= fromMs && hour.hourStartUtcMs < untilMs,
  );
  const known = since.flatMap((hour) => (hour.etoMm === null ? [] : [hour.etoMm]));
  if (known.length < (KNOWN_SHARE * (untilMs - fromMs)) / HOUR_MS) return null;
  return known.reduce((sum, mm) => sum + mm, 0);
}
