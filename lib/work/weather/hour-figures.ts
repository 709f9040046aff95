import 'server-only';
import type { KeptWeatherHour as DiaryHour } from '@/lib/diary/weather-hours';
import { deltaTC } from '@/lib/weather/delta-t';
import { etoOfHours } from '@/lib/weather/eto-hours';
import type { WeatherPlace } from '@/lib/weather/hour';
import { dewPointC, vapourPressureDeficitKPa } from '@/lib/weather/humidity';
import { leafWetHour } from '@/lib/weather/leaf-wetness';
import { atmosphericPressureKPa } from '@/lib/weather/pressure';
import { wetBulbPsychrometricC } from '@/lib/weather/wet-bulb';
import { windOfHourAt2mMPerS } from '@/lib/weather/wind';

/** An hour with all that follows from it. What can't be known is null. */
export interface HourFigures {
  hour: DiaryHour;
  dewPointC: number | null;
  vpdKPa: number | null;
  wetBulbC: number | null;
  deltaTC: number | null;
  windAt2mMPerS: number | null;
  etoMm: number | null;
  leafWet: boolean | null;
}

/** The psychrometer equation is solved from -30 °C on (see wetBulbPsychrometricC). */
const leastBulbC = -30;

/**
 * Dew point, VPD, wet bulb, Delta T, wind at 2 m, ETo and leaf wetness of each hour.
 * @param hours in order of time; ETo at night uses the sky of the day before, so give a day more and drop it
 * @param place null where the lawn has no coordinates: then no ETo, and pressure of sea level
 */
export function hourFigures(hours: readonly DiaryHour[], place: WeatherPlace | null): HourFigures[] {
  const eto = place === null ? null : etoOfHours(hours, place);
  const standardPressure = atmosphericPressureKPa(place?.elevationM ?? 0);
  return hours.map((hour, index): HourFigures => {
    const { airTempC, relHumidityPercent } = hour;
    const air = airTempC === null || relHumidityPercent === null ? null : { airTempC, relHumidityPercent };
    const pressure = hour.pressureKPa ?? standardPressure;
    const bulb = air !== null && air.airTempC >= leastBulbC;
    return {
      hour,
      dewPointC: air && dewPointC(air.airTempC, air.relHumidityPercent),
      vpdKPa: air && vapourPressureDeficitKPa(air.airTempC, air.relHumidityPercent),
      wetBulbC: bulb ? wetBulbPsychrometricC(air.airTempC, air.relHumidityPercent, pressure) : null,
      deltaTC: bulb ? deltaTC(air.airTempC, air.relHumidityPercent, pressure) : null,
      windAt2mMPerS: windOfHourAt2mMPerS(hour),
      etoMm: eto?.[index]?.etoMm ?? null,
      leafWet: leafWetHour(hour),
    };
  });
}
