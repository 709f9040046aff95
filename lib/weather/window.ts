import { HOUR_MS } from '@/lib/units/time';
import { expectInRange, expectPositive } from '@/lib/expect';
import type { UnitSystem } from '@/lib/units/display';
import type { DryingResult, FilmPlan } from '@/lib/weather/drying';
import { dryingTime } from '@/lib/weather/drying';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { hourStartOf } from '@/lib/weather/hour';
import type { ZoneClock } from '@/lib/weather/local-time';
import type { CivilDate } from '@/lib/weather/sun-times';
import { sunDay } from '@/lib/weather/sun-times';
import {
  DEFAULT_LIMITS,
  RANK,
  type Reason,
  type Suitability,
  type WindowLimits,
  worstVerdict,
} from '@/lib/weather/window-limits';
import {
  deltaTReason,
  dryingReason,
  leafWetReason,
  lightReason,
  rainReason,
  temperatureReasons,
  windReasons,
} from '@/lib/weather/window-reasons';

export interface WindowQuery {
  readonly hours: readonly WeatherHour[];
  readonly place: WeatherPlace;
  readonly clock: ZoneClock;
  readonly film: Omit<FilmPlan, 'startUtcMs'>;
  readonly limits?: WindowLimits;
  /** The reader's units, for sentences; metric unless said. */
  readonly units?: UnitSystem;
}

export interface HourScore {
  readonly startUtcMs: number;
  readonly endUtcMs: number;
  /** The worst of its reasons; unknown only when none is unsuitable and one is unknown. */
  readonly verdict: Suitability;
  /** 0 to 100: mean of the reasons (suitable 1, doubtful ½, else 0), for ranking hours of one verdict. */
  readonly points: number;
  readonly reasons: readonly Reason[];
  readonly drying: DryingResult;
}

const MARK: Record<Suitability, number> = { suitable: 1, doubtful: 0.5, unsuitable: 0, unknown: 0 };

function dayOf(clock: ZoneClock, utcMs: number): CivilDate {
  const { year, month, day } = clock.wallAt(utcMs);
  return { year, month, day };
}

/** The same score for any span up to an hour: a coming hour, or part of a past spray. */
function scoreSpan(query: WindowQuery, startUtcMs: number, endUtcMs: number): HourScore {
  const limits = query.limits ?? DEFAULT_LIMITS;
  const near = query.hours.filter(
    (hour) => hour.hourStartUtcMs > startUtcMs - 26 * HOUR_MS && hour.hourStartUtcMs < endUtcMs + 26 * HOUR_MS,
  );
  const hour = near.find((one) => one.hourStartUtcMs === hourStartOf(startUtcMs));
  const ahead = near.filter((one) => one.hourStartUtcMs > startUtcMs && one.hourStartUtcMs < startUtcMs + 24 * HOUR_MS);
  const drying = dryingTime({ ...query.film, startUtcMs }, near, query.place);
  const sun = sunDay(dayOf(query.clock, startUtcMs), query.place.latitudeDeg, query.place.longitudeDeg);
  const reasons = [
    dryingReason(drying, limits),
    deltaTReason(hour, query.place, query.units),
    ...windReasons(hour, limits, query.units),
    ...temperatureReasons(hour, ahead, limits, query.units),
    rainReason(near, endUtcMs, limits, query.units),
    leafWetReason(hour),
    lightReason(startUtcMs, endUtcMs, sun),
  ];
  const points = (100 * reasons.reduce((sum, reason) => sum + MARK[reason.verdict], 0)) / reasons.length;
  return {
    startUtcMs,
    endUtcMs,
    verdict: worstVerdict(reasons.map((reason) => reason.verdict)),
    points,
    reasons,
    drying,
  };
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
  const near = {
    ...query,
    hours: query.hours.filter(
      (hour) => hour.hourStartUtcMs > first - 26 * HOUR_MS && hour.hourStartUtcMs < until + 26 * HOUR_MS,
    ),
  };
  return Array.from({ length: count }, (_, i) => scoreSpan(near, first + i * HOUR_MS, first + (i + 1) * HOUR_MS));
}

/**
 * The score of a spray that took place, by what the weather did: each clock hour it touched, and the worst of them.
 * @throws RangeError when it ends before it starts or lasts more than a day
 */
export function scoreSpray(
  query: WindowQuery,
  startUtcMs: number,
  endUtcMs: number,
): { verdict: Suitability; points: number; hours: HourScore[] } {
  expectInRange('endUtcMs', endUtcMs, startUtcMs, startUtcMs + 24 * HOUR_MS, 'ms (from the start to a day later)');
  const hours: HourScore[] = [];
  for (let at = startUtcMs; hours.length === 0 || at < endUtcMs; at = hourStartOf(at) + HOUR_MS) {
    hours.push(scoreSpan(query, at, Math.min(endUtcMs, hourStartOf(at) + HOUR_MS)));
  }
  return {
    verdict: worstVerdict(hours.map((hour) => hour.verdict)),
    points: Math.min(...hours.map((hour) => hour.points)),
    hours,
  };
}

export interface SprayWindow {
  readonly startUtcMs: number;
  readonly endUtcMs: number;
  readonly verdict: Suitability;
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
export function bestWindows(
  scores: readonly HourScore[],
  workMinutes: number,
  clock: ZoneClock,
  most = 3,
): SprayWindow[] {
  expectPositive('workMinutes', workMinutes, 'min');
  const runs: HourScore[][] = [];
  for (const score of scores) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run !== undefined && last !== undefined && last.verdict === score.verdict && last.endUtcMs === score.startUtcMs)
      run.push(score);
    else runs.push([score]);
  }
  const windows = runs.flatMap((run): SprayWindow[] => {
    const [first] = run;
    const last = run.at(-1);
    if (first === undefined || last === undefined || (first.verdict !== 'suitable' && first.verdict !== 'doubtful'))
      return [];
    if (last.endUtcMs - first.startUtcMs < workMinutes * 60_000) return [];
    const points = run.reduce((sum, one) => sum + one.points, 0) / run.length;
    return [
      {
        startUtcMs: first.startUtcMs,
        endUtcMs: last.endUtcMs,
        verdict: first.verdict,
        points,
        name: partOfDay(clock.wallAt(first.startUtcMs).hour),
      },
    ];
  });
  return windows
    .sort((a, b) => RANK[a.verdict] - RANK[b.verdict] || b.points - a.points || a.startUtcMs - b.startUtcMs)
    .slice(0, most);
}

function partOfDay(hour: number): SprayWindow['name'] {
  if (hour < 5 || hour >= 22) return 'night';
  if (hour < 11) return 'morning';
  if (hour < 14) return 'midday';
  return hour < 17 ? 'afternoon' : 'evening';
}
