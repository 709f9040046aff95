import { expectInRange, expectPositive } from '@/lib/expect';
import { DELTA_T_SOURCE, deltaTC, deltaTClass } from '@/lib/weather/delta-t';
import type { DryingResult, FilmPlan } from '@/lib/weather/drying';
import { dryingTime } from '@/lib/weather/drying';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { HOUR_MS, hourStartOf } from '@/lib/weather/hour';
import { leafWetHour, LEAF_WETNESS_RULE } from '@/lib/weather/leaf-wetness';
import type { ZoneClock } from '@/lib/weather/local-time';
import { atmosphericPressureKPa } from '@/lib/weather/pressure';
import { rainBetween } from '@/lib/weather/rain-since';
import type { CalendarDay, SunDay } from '@/lib/weather/sun-times';
import { sunDay } from '@/lib/weather/sun-times';
import { windAt2mMPerS } from '@/lib/weather/wind';

const PRACTICE = 'common practice, no source';
const MPH = 0.44704; // m/s, exact: 1609.344 m / 3600 s

/** Best to worst; `unknown` where the number that decides is missing. */
export type Verdict = 'suitable' | 'doubtful' | 'unsuitable' | 'unknown';

export type ReasonTopic = 'drying' | 'delta-t' | 'wind' | 'gust' | 'temperature' | 'heat-ahead' | 'rain-ahead' | 'leaf-wet' | 'light';

export interface Reason {
  readonly topic: ReasonTopic;
  readonly verdict: Verdict;
  /** The number judged, in `unit`; null when it isn't known or there is none (a film that doesn't dry). */
  readonly value: number | null;
  readonly unit: string;
  /** The limit it was judged by, in words with numbers. */
  readonly limit: string;
  /** Where the limit comes from, or 'common practice, no source'. */
  readonly source: string;
  readonly sentence: string;
}

/** Limits a lawn keeper may change; the defaults and their sources are in DEFAULT_LIMITS. */
export interface WindowLimits {
  /** Minutes the film should stay wet: below the first unsuitable, below the second doubtful. */
  readonly leastWetMin: number;
  readonly goodWetMin: number;
  /** Longer than this on the leaf is doubtful, minutes. */
  readonly longestWetMin: number;
  readonly calmMPerS: number;
  readonly goodWindMPerS: number;
  readonly mostWindMPerS: number;
  readonly leastTempC: number;
  readonly goodMinTempC: number;
  readonly goodMaxTempC: number;
  readonly mostTempC: number;
  /** Rain of this much, mm, within `rainUnsuitableHours` is unsuitable, within `rainDoubtfulHours` doubtful. */
  readonly rainMm: number;
  readonly rainUnsuitableHours: number;
  readonly rainDoubtfulHours: number;
  readonly rainChancePercent: number;
}

export const DEFAULT_LIMITS: WindowLimits = {
  leastWetMin: 10, goodWetMin: 20, longestWetMin: 480,
  calmMPerS: 3 * MPH, goodWindMPerS: 8 * MPH, mostWindMPerS: 10 * MPH,
  leastTempC: 4, goodMinTempC: 10, goodMaxTempC: 26.7, mostTempC: 29.4,
  rainMm: 0.25, rainUnsuitableHours: 4, rainDoubtfulHours: 6, rainChancePercent: 50,
};

const SOURCES = {
  drying: `${PRACTICE} for the minutes; uptake nearly stops once droplets are dry, 24-67% of foliar urea went in within 1 h (Stiegler, Richardson & Karcher 2011, Crop Sci. 51:1253)`,
  wind: '3 to 8 mph where the label says nothing (pesticidestewardship.org); the label wins; calm air may mean an inversion',
  rain: 'uptake of foliar N done by 4 to 6 h (Henning, Mulvaney & Branham 2013, Crop Sci.); no rainfast time for iron was found; the label wins',
} as const;

export interface WindowQuery {
  readonly hours: readonly WeatherHour[];
  readonly place: WeatherPlace;
  readonly clock: ZoneClock;
  readonly film: Omit<FilmPlan, 'startUtcMs'>;
  readonly limits?: WindowLimits;
}

export interface HourScore {
  readonly startUtcMs: number;
  readonly endUtcMs: number;
  /** The worst of its reasons; unknown only when none is unsuitable and one is unknown. */
  readonly verdict: Verdict;
  /** 0 to 100: mean of the reasons (suitable 1, doubtful ½, else 0), for ranking hours of one verdict. */
  readonly points: number;
  readonly reasons: readonly Reason[];
  readonly drying: DryingResult;
}

const MARK: Record<Verdict, number> = { suitable: 1, doubtful: 0.5, unsuitable: 0, unknown: 0 };
const RANK: Record<Verdict, number> = { suitable: 0, doubtful: 1, unknown: 2, unsuitable: 3 };

/** The worst of several verdicts; a known 'unsuitable' outweighs an unknown. */
export function worstVerdict(verdicts: readonly Verdict[]): Verdict {
  return verdicts.reduce<Verdict>((worst, one) => (RANK[one] > RANK[worst] ? one : worst), 'suitable');
}

const digits = (value: number, places: number): string => value.toFixed(places);

function dryingReason(result: DryingResult, limits: WindowLimits): Reason {
  const base = { topic: 'drying', unit: 'min', limit: `${limits.goodWetMin} to ${limits.longestWetMin} min wet; under ${limits.leastWetMin} min unsuitable`, source: SOURCES.drying } as const;
  if (result.kind === 'unknown') return { ...base, verdict: 'unknown', value: null, sentence: `Drying time unknown: ${result.missing.join(', ')} missing.` };
  if (result.kind === 'rained-on') return { ...base, verdict: 'unsuitable', value: result.minutes, sentence: `Rain would reach the film after ${digits(result.minutes, 0)} min, before it is dry.` };
  if (result.kind === 'does-not-dry') return { ...base, verdict: 'doubtful', value: null, sentence: 'The film would not dry within the hours looked at: dew or damp, still air.' };
  const { minutes } = result;
  const verdict = minutes < limits.leastWetMin ? 'unsuitable' : minutes < limits.goodWetMin || minutes > limits.longestWetMin ? 'doubtful' : 'suitable';
  const how = minutes < limits.goodWetMin ? 'dries too soon' : minutes > limits.longestWetMin ? 'stays wet long, which favours disease' : 'stays wet long enough';
  return { ...base, verdict, value: minutes, sentence: `The film ${how}: about ${digits(minutes, 0)} min.` };
}

function deltaTReason(hour: WeatherHour | undefined, place: WeatherPlace): Reason {
  const base = { topic: 'delta-t', unit: '°C', limit: '2 to 8 °C; to 10 °C marginal', source: DELTA_T_SOURCE } as const;
  if (hour === undefined || hour.airTempC === null || hour.relHumidityPercent === null) return { ...base, verdict: 'unknown', value: null, sentence: 'Delta T unknown: temperature or humidity missing.' };
  const value = deltaTC(hour.airTempC, hour.relHumidityPercent, hour.pressureKPa ?? atmosphericPressureKPa(place.elevationM));
  const kind = deltaTClass(value);
  const verdict = kind === 'suitable' ? 'suitable' : kind === 'high' ? 'unsuitable' : 'doubtful';
  const word = { low: 'low: droplets live long, dew or an inversion is likely', suitable: 'suitable', marginal: 'marginal: droplets shrink fast', high: 'too high: droplets dry in the air' }[kind];
  return { ...base, verdict, value, sentence: `Delta T ${digits(value, 1)} °C is ${word}.` };
}

function windReasons(hour: WeatherHour | undefined, limits: WindowLimits): Reason[] {
  const base = { topic: 'wind', unit: 'm/s', limit: `${digits(limits.calmMPerS, 1)} to ${digits(limits.goodWindMPerS, 1)} m/s at 2 m; above ${digits(limits.mostWindMPerS, 1)} unsuitable`, source: SOURCES.wind } as const;
  if (hour === undefined || hour.windMPerS === null || hour.windHeightM === null) return [{ ...base, verdict: 'unknown', value: null, sentence: 'Wind unknown.' }];
  const wind = windAt2mMPerS(hour.windMPerS, hour.windHeightM);
  const verdict = wind > limits.mostWindMPerS ? 'unsuitable' : wind > limits.goodWindMPerS || wind < limits.calmMPerS ? 'doubtful' : 'suitable';
  const word = wind < limits.calmMPerS ? 'calm: look for an inversion (smoke or mist that hangs)' : verdict === 'suitable' ? 'suitable' : 'strong: drift';
  const reasons: Reason[] = [{ ...base, verdict, value: wind, sentence: `Wind ${digits(wind, 1)} m/s at 2 m is ${word}.` }];
  if (hour.gustMPerS !== null) {
    const gust = windAt2mMPerS(hour.gustMPerS, hour.windHeightM);
    const limit = limits.mostWindMPerS * 1.5;
    reasons.push({
      topic: 'gust', verdict: gust > limit ? 'doubtful' : 'suitable', value: gust, unit: 'm/s',
      limit: `gusts to ${digits(limit, 1)} m/s at 2 m`, source: PRACTICE, sentence: `Gusts of ${digits(gust, 1)} m/s at 2 m.`,
    });
  }
  return reasons;
}

function temperatureReasons(hour: WeatherHour | undefined, ahead: readonly WeatherHour[], limits: WindowLimits): Reason[] {
  const unit = '°C';
  const base = { topic: 'temperature', unit, limit: `${digits(limits.goodMinTempC, 0)} to ${digits(limits.goodMaxTempC, 1)} °C; below ${digits(limits.leastTempC, 0)} or above ${digits(limits.mostTempC, 1)} unsuitable`, source: PRACTICE } as const;
  const reasons: Reason[] = [];
  const value = hour?.airTempC ?? null;
  if (value === null) reasons.push({ ...base, verdict: 'unknown', value: null, sentence: 'Temperature unknown.' });
  else {
    const verdict = value > limits.mostTempC || value < limits.leastTempC ? 'unsuitable' : value > limits.goodMaxTempC || value < limits.goodMinTempC ? 'doubtful' : 'suitable';
    const word = verdict === 'suitable' ? 'suitable' : value > limits.goodMaxTempC ? 'hot: risk of burn' : 'cold: slow uptake';
    reasons.push({ ...base, verdict, value, sentence: `${digits(value, 1)} °C is ${word}.` });
  }
  const known = ahead.map((one) => one.airTempC).filter((temp) => temp !== null);
  if (known.length > 0) {
    const max = Math.max(...known);
    reasons.push({
      topic: 'heat-ahead', unit, value: max, verdict: max > limits.mostTempC ? 'doubtful' : 'suitable',
      limit: `at most ${digits(limits.mostTempC, 1)} °C within 24 h`, source: PRACTICE,
      sentence: `Up to ${digits(max, 1)} °C in the ${known.length} h known ahead${max > limits.mostTempC ? ': iron and salts may burn' : ''}.`,
    });
  }
  return reasons;
}

function rainReason(query: WindowQuery, endUtcMs: number, limits: WindowLimits): Reason {
  const base = { topic: 'rain-ahead', unit: 'mm', limit: `under ${limits.rainMm} mm within ${limits.rainDoubtfulHours} h`, source: SOURCES.rain } as const;
  const soon = rainBetween(query.hours, endUtcMs, endUtcMs + limits.rainUnsuitableHours * HOUR_MS);
  const later = rainBetween(query.hours, endUtcMs, endUtcMs + limits.rainDoubtfulHours * HOUR_MS);
  const chances = query.hours
    .filter((hour) => hour.hourStartUtcMs >= hourStartOf(endUtcMs) && hour.hourStartUtcMs < endUtcMs + limits.rainUnsuitableHours * HOUR_MS)
    .map((hour) => hour.rainChancePercent ?? 0);
  const chance = Math.max(0, ...chances);
  const value = later.rainMm;
  if (soon.rainMm >= limits.rainMm) return { ...base, verdict: 'unsuitable', value, sentence: `${digits(soon.rainMm, 1)} mm of rain within ${limits.rainUnsuitableHours} h.` };
  if (value >= limits.rainMm) return { ...base, verdict: 'doubtful', value, sentence: `${digits(value, 1)} mm of rain within ${limits.rainDoubtfulHours} h.` };
  if (later.hoursUnknown > 0) return { ...base, verdict: 'unknown', value: null, sentence: `Rain unknown for ${digits(later.hoursUnknown, 0)} of the ${limits.rainDoubtfulHours} h ahead.` };
  if (chance >= limits.rainChancePercent) return { ...base, verdict: 'doubtful', value, sentence: `A ${digits(chance, 0)}% chance of rain within ${limits.rainUnsuitableHours} h.` };
  return { ...base, verdict: 'suitable', value, sentence: `No rain to speak of within ${limits.rainDoubtfulHours} h.` };
}

function leafWetReason(hour: WeatherHour | undefined): Reason {
  const base = { topic: 'leaf-wet', unit: '%', limit: 'leaves dry at the start', source: LEAF_WETNESS_RULE, value: hour?.relHumidityPercent ?? null } as const;
  const wet = hour === undefined ? null : leafWetHour(hour);
  if (wet === null) return { ...base, verdict: 'unknown', sentence: 'Whether the leaves are wet is unknown.' };
  return { ...base, verdict: wet ? 'doubtful' : 'suitable', sentence: wet ? 'The leaves are wet: the spray is thinned and may run off.' : 'The leaves are dry by the rule.' };
}

function lightReason(startUtcMs: number, endUtcMs: number, sun: SunDay): Reason {
  const base = { topic: 'light', unit: 'min', limit: 'between sunrise and sunset; civil twilight doubtful', source: PRACTICE } as const;
  const { kind } = sun.sun;
  if (kind === 'always-above') return { ...base, verdict: 'suitable', value: null, sentence: 'The sun does not set today.' };
  const within = (events: SunDay['sun']): boolean => events.kind === 'always-above' || (events.kind === 'rises-and-sets' && startUtcMs >= events.riseUtcMs && endUtcMs <= events.setUtcMs);
  const minutesLeft = sun.sun.kind === 'rises-and-sets' ? (sun.sun.setUtcMs - startUtcMs) / 60_000 : null;
  if (within(sun.sun)) return { ...base, verdict: 'suitable', value: minutesLeft, sentence: `${digits(minutesLeft ?? 0, 0)} min to sunset.` };
  if (within(sun.civilTwilight)) return { ...base, verdict: 'doubtful', value: minutesLeft, sentence: 'Partly in twilight.' };
  return { ...base, verdict: 'unsuitable', value: minutesLeft, sentence: 'Dark for some of the time: one cannot see where one sprays.' };
}

function dayOf(clock: ZoneClock, utcMs: number): CalendarDay {
  const { year, month, day } = clock.wallAt(utcMs);
  return { year, month, day };
}

/** The same score for any span up to an hour: a coming hour, or part of a past spray. */
function scoreSpan(query: WindowQuery, startUtcMs: number, endUtcMs: number): HourScore {
  const limits = query.limits ?? DEFAULT_LIMITS;
  const near = query.hours.filter((hour) => hour.hourStartUtcMs > startUtcMs - 26 * HOUR_MS && hour.hourStartUtcMs < endUtcMs + 26 * HOUR_MS);
  const nearby = { ...query, hours: near };
  const hour = near.find((one) => one.hourStartUtcMs === hourStartOf(startUtcMs));
  const ahead = near.filter((one) => one.hourStartUtcMs > startUtcMs && one.hourStartUtcMs < startUtcMs + 24 * HOUR_MS);
  const drying = dryingTime({ ...query.film, startUtcMs }, near, query.place);
  const sun = sunDay(dayOf(query.clock, startUtcMs), query.place.latitudeDeg, query.place.longitudeDeg);
  const reasons = [
    dryingReason(drying, limits),
    deltaTReason(hour, query.place),
    ...windReasons(hour, limits),
    ...temperatureReasons(hour, ahead, limits),
    rainReason(nearby, endUtcMs, limits),
    leafWetReason(hour),
    lightReason(startUtcMs, endUtcMs, sun),
  ];
  const points = (100 * reasons.reduce((sum, reason) => sum + MARK[reason.verdict], 0)) / reasons.length;
  return { startUtcMs, endUtcMs, verdict: worstVerdict(reasons.map((reason) => reason.verdict)), points, reasons, drying };
}

/**
 * Scores of the coming hours, each for a spray that starts on the hour.
 * @param fromUtcMs first hour scored is the one that starts at or after this
 * @param count hours to score, 1 to 240
 * @throws RangeError on a value out of range
 */
export function scoreHours(query: WindowQuery, fromUtcMs: number, count = 48): HourScore[] {
  expectInRange('count', count, 1, 240, 'h');
  const first = Math.ceil(fromUtcMs / HOUR_MS) * HOUR_MS;
  const until = first + count * HOUR_MS;
  const near = { ...query, hours: query.hours.filter((hour) => hour.hourStartUtcMs > first - 26 * HOUR_MS && hour.hourStartUtcMs < until + 26 * HOUR_MS) };
  return Array.from({ length: count }, (_, i) => scoreSpan(near, first + i * HOUR_MS, first + (i + 1) * HOUR_MS));
}

/**
 * The score of a spray that took place, by what the weather did: each clock hour it touched, and the worst of them.
 * @throws RangeError when it ends before it starts or lasts more than a day
 */
export function scoreSpray(query: WindowQuery, startUtcMs: number, endUtcMs: number): { verdict: Verdict; points: number; hours: HourScore[] } {
  expectInRange('endUtcMs', endUtcMs, startUtcMs, startUtcMs + 24 * HOUR_MS, 'ms (from the start to a day later)');
  const hours: HourScore[] = [];
  for (let at = startUtcMs; hours.length === 0 || at < endUtcMs; at = hourStartOf(at) + HOUR_MS) {
    hours.push(scoreSpan(query, at, Math.min(endUtcMs, hourStartOf(at) + HOUR_MS)));
  }
  return { verdict: worstVerdict(hours.map((hour) => hour.verdict)), points: Math.min(...hours.map((hour) => hour.points)), hours };
}

export interface SprayWindow {
  readonly startUtcMs: number;
  readonly endUtcMs: number;
  readonly verdict: Verdict;
  readonly points: number;
  /** Part of the local day it starts in. */
  readonly name: 'night' | 'morning' | 'midday' | 'afternoon' | 'evening';
}

/**
 * The best runs of successive hours of one verdict (suitable, else doubtful), long enough for the work, best first.
 * @param workMinutes how long the spraying takes, above 0
 * @param most how many to name
 * @returns an empty list when nothing but unsuitable or unknown hours lie ahead
 */
export function bestWindows(scores: readonly HourScore[], workMinutes: number, clock: ZoneClock, most = 3): SprayWindow[] {
  expectPositive('workMinutes', workMinutes, 'min');
  const runs: HourScore[][] = [];
  for (const score of scores) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run !== undefined && last !== undefined && last.verdict === score.verdict && last.endUtcMs === score.startUtcMs) run.push(score);
    else runs.push([score]);
  }
  const windows = runs.flatMap((run): SprayWindow[] => {
    const [first] = run;
    const last = run.at(-1);
    if (first === undefined || last === undefined || (first.verdict !== 'suitable' && first.verdict !== 'doubtful')) return [];
    if (last.endUtcMs - first.startUtcMs < workMinutes * 60_000) return [];
    const points = run.reduce((sum, one) => sum + one.points, 0) / run.length;
    return [{ startUtcMs: first.startUtcMs, endUtcMs: last.endUtcMs, verdict: first.verdict, points, name: partOfDay(clock.wallAt(first.startUtcMs).hour) }];
  });
  return windows.sort((a, b) => RANK[a.verdict] - RANK[b.verdict] || b.points - a.points || a.startUtcMs - b.startUtcMs).slice(0, most);
}

function partOfDay(hour: number): SprayWindow['name'] {
  if (hour < 5 || hour >= 22) return 'night';
  if (hour < 11) return 'morning';
  if (hour < 14) return 'midday';
  return hour < 17 ? 'afternoon' : 'evening';
}
