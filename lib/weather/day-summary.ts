import { etoOfHours } from '@/lib/weather/eto-hours';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { vapourPressureDeficitKPa } from '@/lib/weather/humidity';
import type { ZoneClock } from '@/lib/weather/local-time';
import { localDateKey, localDay } from '@/lib/weather/local-time';

/**
 * A local day's weather. A figure is null unless at least `minHours` of its hours were measured; sums never pretend.
 */
export interface DaySummary {
  /** 'YYYY-MM-DD' at the place. */
  readonly date: string;
  /** Hours the day has: 23 or 25 when the clocks change. */
  readonly hoursInDay: number;
  readonly hoursKnown: number;
  readonly maxTempC: number | null;
  readonly minTempC: number | null;
  readonly meanTempC: number | null;
  readonly meanVpdKPa: number | null;
  readonly maxVpdKPa: number | null;
  readonly meanWindMPerS: number | null;
  readonly rainMm: number | null;
  readonly etoMm: number | null;
}

const sum = (list: number[] | null): number | null =>
  list === null ? null : list.reduce((total, value) => total + value, 0);
const mean = (list: number[] | null): number | null => (list === null ? null : (sum(list) ?? 0) / list.length);

/**
 * Hours gathered into local days, in order of date. Every hour belongs to one day: the one in which it starts.
 * @param hours in order of time
 * @param missingHoursAllowed a day with more hours missing gives null for that figure; 2 unless said
 */
export function summariseDays(
  hours: readonly WeatherHour[],
  place: WeatherPlace,
  clock: ZoneClock,
  missingHoursAllowed = 2,
): DaySummary[] {
  const eto = etoOfHours(hours, place);
  const byDate = new Map<string, number[]>();
  hours.forEach((hour, index) => {
    const key = localDateKey(clock, hour.hourStartUtcMs);
    const list = byDate.get(key);
    if (list === undefined) byDate.set(key, [index]);
    else list.push(index);
  });
  return [...byDate]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([date, indices]) => {
      const [year = 1970, month = 1, day = 1] = date.split('-').map(Number);
      const hoursInDay = localDay(clock, { year, month, day }).hours;
      const values = (read: (hour: WeatherHour, index: number) => number | null): number[] | null => {
        const known: number[] = [];
        for (const index of indices) {
          const hour = hours[index];
          const value = hour === undefined ? null : read(hour, index);
          if (value !== null) known.push(value);
        }
        return known.length > 0 && known.length >= hoursInDay - missingHoursAllowed ? known : null;
      };
      const temp = values((hour) => hour.airTempC);
      const vpd = values((hour) =>
        hour.airTempC === null || hour.relHumidityPercent === null
          ? null
          : vapourPressureDeficitKPa(hour.airTempC, hour.relHumidityPercent),
      );
      return {
        date,
        hoursInDay,
        hoursKnown: indices.length,
        maxTempC: temp === null ? null : Math.max(...temp),
        minTempC: temp === null ? null : Math.min(...temp),
        meanTempC: mean(temp),
        meanVpdKPa: mean(vpd),
        maxVpdKPa: vpd === null ? null : Math.max(...vpd),
        meanWindMPerS: mean(values((hour) => hour.windMPerS)),
        rainMm: sum(values((hour) => hour.rainMm)),
        etoMm: sum(values((_, index) => eto[index]?.etoMm ?? null)),
      };
    });
}
