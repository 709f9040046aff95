import { expectNotNegative } from '@/lib/expect';
import { psychrometricConstantKPaPerC } from '@/lib/weather/pressure';
import { saturationSlopeKPaPerC } from '@/lib/weather/saturation';

/**
 * Soil heat flux under grass over an hour, in the unit of `netRadiation`: a tenth by day, half by night.
 * @see FAO-56 eq. 45 and 46
 */
export function soilHeatFluxHour(netRadiation: number, daylight: boolean): number {
  return (daylight ? 0.1 : 0.5) * netRadiation;
}

/** Evaporation equivalent of energy, mm of water for each MJ/m². @see FAO-56 eq. 20 */
const MM_PER_MJ_PER_M2 = 0.408;

export interface ReferenceDay {
  readonly meanTempC: number;
  /** Mean saturation and actual vapour pressure, kPa (FAO-56 eq. 12 and 14 to 19). */
  readonly saturationVapourPressure: number;
  readonly vapourPressure: number;
  readonly windAt2m: number;
  /** Net radiation and soil heat flux, MJ m⁻² day⁻¹. */
  readonly netRadiation: number;
  readonly soilHeatFlux: number;
  readonly pressureKPa: number;
}

function combination(numerator900: number, windFactor: number, air: ReferenceDay): number {
  expectNotNegative('windAt2m', air.windAt2m, 'm/s');
  const delta = saturationSlopeKPaPerC(air.meanTempC);
  const gamma = psychrometricConstantKPaPerC(air.pressureKPa);
  const deficit = air.saturationVapourPressure - air.vapourPressure;
  const radiation = MM_PER_MJ_PER_M2 * delta * (air.netRadiation - air.soilHeatFlux);
  const wind = (gamma * numerator900 * air.windAt2m * deficit) / (air.meanTempC + 273);
  return (radiation + wind) / (delta + gamma * (1 + windFactor * air.windAt2m));
}

/**
 * Reference evapotranspiration of short grass over a day, mm/day. Slightly negative values (dew) are returned as they
 * are. No page asks for a day at once: it stands here so that the paper's worked days prove the equation hours share.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 6
 * @example see tests/reference/fao56.test.ts, examples 17 and 18
 */
export function referenceEvapotranspirationDay(day: ReferenceDay): number {
  return combination(900, 0.34, day); // eq. 6
}

/**
 * Reference evapotranspiration of short grass over an hour, mm/h; energy in MJ m⁻² h⁻¹.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 53
 */
export function referenceEvapotranspirationHour(hour: ReferenceDay): number {
  return combination(37, 0.34, hour); // eq. 53
}
