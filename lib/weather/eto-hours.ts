import { DAY_MS } from '@/lib/units/time';
import { referenceEvapotranspirationHour, soilHeatFluxHour } from '@/lib/weather/evapotranspiration';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { hourEnergy } from '@/lib/weather/hour-energy';
import { vapourPressureKPa } from '@/lib/weather/humidity';
import { atmosphericPressureKPa } from '@/lib/weather/pressure';
import { saturationVapourPressureKPa } from '@/lib/weather/saturation';
import { windOfHourAt2mMPerS } from '@/lib/weather/wind';

export interface HourEto {
  readonly hourStartUtcMs: number;
  /** Reference evapotranspiration, mm/h; null where temperature, humidity or wind is missing. */
  readonly etoMm: number | null;
  /** What was estimated, in words; empty when all was measured. */
  readonly assumed: readonly string[];
}

/**
 * Hourly reference evapotranspiration of a run of weather hours.
 * The sky after sunset is taken as it was in the last daylight hour with the sun above 0.3 rad.
 * @param hours in order of time
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 53
 */
export function etoOfHours(hours: readonly WeatherHour[], place: WeatherPlace): HourEto[] {
  const standardPressure = atmosphericPressureKPa(place.elevationM);
  let sky: { share: number; at: number } | null = null;
  return hours.map((hour) => {
    const { hourStartUtcMs, airTempC, relHumidityPercent } = hour;
    const windAt2m = windOfHourAt2mMPerS(hour);
    const share = sky !== null && hourStartUtcMs - sky.at <= DAY_MS ? sky.share : null;
    const energy = hourEnergy(hour, place, share);
    if (energy === null || airTempC === null || relHumidityPercent === null || windAt2m === null) {
      return { hourStartUtcMs, etoMm: null, assumed: [] };
    }
    if (energy.skyMeasured) sky = { share: energy.clearShare, at: hourStartUtcMs };
    const etoMm = referenceEvapotranspirationHour({
      meanTempC: airTempC,
      saturationVapourPressure: saturationVapourPressureKPa(airTempC),
      vapourPressure: vapourPressureKPa(airTempC, relHumidityPercent),
      windAt2m,
      netRadiation: energy.netRadiation,
      soilHeatFlux: soilHeatFluxHour(energy.netRadiation, energy.daylight),
      pressureKPa: hour.pressureKPa ?? standardPressure,
    });
    return { hourStartUtcMs, etoMm, assumed: energy.assumed };
  });
}
