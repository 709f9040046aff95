import { expectInRange, expectNotNegative, expectWhole } from '@/lib/expect';

/** Solar constant as FAO-56 uses it, MJ m⁻² min⁻¹ (eq. 21). */
const SOLAR_CONSTANT = 0.082;
/** Stefan-Boltzmann constant as FAO-56 prints it, MJ K⁻⁴ m⁻² day⁻¹ (eq. 39). */
const STEFAN_BOLTZMANN_PER_DAY = 4.903e-9;
/** Albedo of the grass reference (eq. 38). */
export const GRASS_ALBEDO = 0.23;

/** 1 MJ m⁻² h⁻¹ in W/m², exactly 10⁶/3600. */
export const W_PER_M2_IN_MJ_PER_M2_H = 1e6 / 3600;

const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/**
 * Inverse relative distance earth to sun (no unit, 0.967 to 1.033) and solar declination (rad, ±0.409) of a day.
 * @param dayOfYear 1 to 366
 * @see FAO-56 eq. 23 and 24
 */
function solarDay(dayOfYear: number): { inverseDistance: number; declinationRad: number } {
  expectWhole('dayOfYear', dayOfYear, 1, 366);
  return {
    inverseDistance: 1 + 0.033 * Math.cos(((2 * Math.PI) / 365) * dayOfYear), // eq. 23
    declinationRad: 0.409 * Math.sin(((2 * Math.PI) / 365) * dayOfYear - 1.39), // eq. 24
  };
}

/**
 * The day's half arc of the sun, rad: 0 where it doesn't rise, π where it doesn't set.
 * @see FAO-56 eq. 25
 * @throws RangeError
 * @example sunsetHourAngleRad(-20, 246) // 1.527
 */
function sunsetHourAngleRad(latitudeDeg: number, dayOfYear: number): number {
  expectInRange('latitudeDeg', latitudeDeg, -90, 90, '°');
  const cosine = -Math.tan(radians(latitudeDeg)) * Math.tan(solarDay(dayOfYear).declinationRad);
  return Math.acos(Math.min(1, Math.max(-1, cosine))); // eq. 25
}

/** Seasonal correction of solar time, hours, about -0.25 to 0.28. @see FAO-56 eq. 32 and 33 */
function solarTimeCorrectionHours(dayOfYear: number): number {
  const b = (2 * Math.PI * (expectWhole('dayOfYear', dayOfYear, 1, 366) - 81)) / 364; // eq. 33
  return 0.1645 * Math.sin(2 * b) - 0.1255 * Math.cos(b) - 0.025 * Math.sin(b); // eq. 32
}

export interface SolarPeriod {
  readonly latitudeDeg: number;
  /** Degrees east (the paper counts west). */
  readonly longitudeDeg: number;
  readonly dayOfYear: number;
  /** Clock time at the middle of the period, hours, in a zone whose central meridian is zoneLongitudeDeg. */
  readonly midHour: number;
  /** Central meridian of the clock's zone, degrees east: 0 for UTC. */
  readonly zoneLongitudeDeg: number;
  /** Length of the period, hours, above 0 to 1. */
  readonly lengthHours: number;
}

/**
 * Hour angle of the sun at the middle of the period, rad, from -π up to π, 0 at solar noon.
 * @see FAO-56 eq. 31
 * @throws RangeError
 */
function solarHourAngleRad(period: Omit<SolarPeriod, 'latitudeDeg' | 'lengthHours'>): number {
  expectInRange('longitudeDeg', period.longitudeDeg, -180, 180, '°');
  const solarHour =
    period.midHour + (period.longitudeDeg - period.zoneLongitudeDeg) / 15 + solarTimeCorrectionHours(period.dayOfYear);
  const angle = (Math.PI / 12) * (solarHour - 12); // eq. 31
  return angle - 2 * Math.PI * Math.floor((angle + Math.PI) / (2 * Math.PI));
}

/**
 * Radiation at the top of the atmosphere over an hour or less, MJ m⁻² period⁻¹, 0 and above.
 * The period is cut at sunrise and sunset, so an hour with the sun up for ten minutes counts those ten.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 28 to 33
 */
export function extraterrestrialRadiationHour(period: SolarPeriod): number {
  expectInRange('lengthHours', period.lengthHours, 1e-6, 1, 'h');
  const { inverseDistance, declinationRad } = solarDay(period.dayOfYear);
  const ws = sunsetHourAngleRad(period.latitudeDeg, period.dayOfYear);
  const phi = radians(period.latitudeDeg);
  const middle = solarHourAngleRad(period);
  const half = (Math.PI * period.lengthHours) / 24;
  const until = (from: number, to: number): number => {
    const w1 = Math.min(Math.max(from, -ws), ws); // eq. 29, cut at sunrise
    const w2 = Math.min(Math.max(to, -ws), ws); // eq. 30, cut at sunset
    return (
      (w2 - w1) * Math.sin(phi) * Math.sin(declinationRad) +
      Math.cos(phi) * Math.cos(declinationRad) * (Math.sin(w2) - Math.sin(w1))
    );
  };
  // A period across solar midnight reaches past ±π: under a midnight sun that stretch belongs to the other end of the
  // day.
  const turn = 2 * Math.PI;
  const arc =
    until(middle - half, middle + half) +
    until(middle - half + turn, middle + half + turn) +
    until(middle - half - turn, middle + half - turn);
  return Math.max(0, ((12 * 60) / Math.PI) * SOLAR_CONSTANT * inverseDistance * arc); // eq. 28
}

/** Sine of the sun's altitude at the middle of the period, -1 to 1. @see FAO-56 annex 3 eq. 3-15 @throws RangeError */
export function solarAltitudeSine(period: Omit<SolarPeriod, 'lengthHours'>): number {
  const { declinationRad } = solarDay(period.dayOfYear);
  const phi = radians(expectInRange('latitudeDeg', period.latitudeDeg, -90, 90, '°'));
  return (
    Math.sin(phi) * Math.sin(declinationRad) +
    Math.cos(phi) * Math.cos(declinationRad) * Math.cos(solarHourAngleRad(period))
  );
}

/** Solar radiation under a clear sky, in the unit of `extraterrestrial`. @see FAO-56 eq. 37 @throws RangeError */
export function clearSkySolar(extraterrestrial: number, elevationM: number): number {
  expectInRange('elevationM', elevationM, -500, 5000, 'm');
  return (0.75 + 2e-5 * elevationM) * expectNotNegative('extraterrestrial', extraterrestrial, 'MJ/m²'); // eq. 37
}

/** Solar radiation kept by the surface, in the unit given. @see FAO-56 eq. 38 @throws RangeError */
export function netShortwave(solar: number, albedo: number = GRASS_ALBEDO): number {
  return (1 - expectInRange('albedo', albedo, 0, 1, '')) * expectNotNegative('solar', solar, 'MJ/m²'); // eq. 38
}

function skyFactor(clearShare: number): number {
  expectInRange('clearShare', clearShare, 0, 1, 'of clear-sky radiation');
  // Rs/Rso below 0.3 doesn't occur under real cloud; ASCE-EWRI 2005 limits the factor to 0.05 or more.
  return Math.max(0.05, 1.35 * clearShare - 0.35);
}

/**
 * Heat radiation lost by the surface over an hour, MJ m⁻² h⁻¹.
 * @param clearShare Rs/Rso, 0 to 1: above 1 is for the caller to limit, as the paper says
 * @see FAO-56 eq. 39 with the constant divided by 24; the mean over a day's extremes is the paper's daily form
 * @throws RangeError on a value out of range
 * @example 12 * (netLongwaveHour at 25.1 °C + netLongwaveHour at 19.1 °C), 2.1 kPa, 14.5 / 18.8 clear // 3.5 a day
 */
export function netLongwaveHour({
  airTempC,
  vapourPressure,
  clearShare,
}: {
  readonly airTempC: number;
  readonly vapourPressure: number;
  readonly clearShare: number;
}): number {
  expectNotNegative('vapourPressure', vapourPressure, 'kPa');
  const fourth = (airTempC + 273.16) ** 4;
  return (
    (STEFAN_BOLTZMANN_PER_DAY / 24) * fourth * (0.34 - 0.14 * Math.sqrt(vapourPressure)) * skyFactor(clearShare) // eq. 39
  );
}
