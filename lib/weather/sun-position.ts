import { DAY_MS } from '@/lib/units/time';
import { expectFinite, expectInRange } from '@/lib/expect';

const radians = (degrees: number): number => (degrees * Math.PI) / 180;
const degrees = (angle: number): number => (angle * 180) / Math.PI;
const turn = (angle: number): number => angle - 360 * Math.floor(angle / 360);

/** Julian day of an instant. @see Meeus, Astronomical Algorithms 2nd ed., ch. 7; JD 2440587.5 is 1970-01-01 0h */
export function julianDay(utcMs: number): number {
  return expectFinite('utcMs', utcMs) / DAY_MS + 2_440_587.5;
}

/** The sun's place on the sky, all in degrees except the distance; names as in Meeus ch. 25. */
export interface SolarCoordinates {
  readonly meanLongitudeDeg: number;
  readonly meanAnomalyDeg: number;
  readonly equationOfCentreDeg: number;
  readonly trueLongitudeDeg: number;
  readonly distanceAu: number;
  readonly rightAscensionDeg: number;
  readonly declinationDeg: number;
  /** Apparent less mean solar time, minutes, about -14.3 to +16.5. */
  readonly equationOfTimeMin: number;
}

/**
 * Apparent place of the sun to about 0.01°, for years 1900 to 2100.
 * Universal time stands in for dynamical time: the minute between them moves the sun by 0.001°.
 * @param julianDayNumber see julianDay
 * @throws RangeError unless finite
 * @see Meeus, Astronomical Algorithms 2nd ed., ch. 25 (low accuracy) and 28 (28.3)
 * @example solarCoordinates(2448908.5).declinationDeg // -7.78507 (Meeus example 25.a)
 */
export function solarCoordinates(julianDayNumber: number): SolarCoordinates {
  const T = (expectFinite('julianDayNumber', julianDayNumber) - 2_451_545) / 36_525; // 25.1
  const meanLongitudeDeg = turn(280.46646 + 36_000.76983 * T + 0.0003032 * T * T); // 25.2
  const meanAnomalyDeg = turn(357.52911 + 35_999.05029 * T - 0.0001537 * T * T); // 25.3
  const e = 0.016708634 - 0.000042037 * T - 0.0000001267 * T * T; // 25.4
  const M = radians(meanAnomalyDeg);
  const equationOfCentreDeg =
    (1.914602 - 0.004817 * T - 0.000014 * T * T) * Math.sin(M) +
    (0.019993 - 0.000101 * T) * Math.sin(2 * M) +
    0.000289 * Math.sin(3 * M);
  const trueLongitudeDeg = turn(meanLongitudeDeg + equationOfCentreDeg);
  const distanceAu = (1.000001018 * (1 - e * e)) / (1 + e * Math.cos(M + radians(equationOfCentreDeg))); // 25.5
  const omega = radians(125.04 - 1934.136 * T);
  const lambda = radians(trueLongitudeDeg - 0.00569 - 0.00478 * Math.sin(omega));
  const epsilon = radians(23.4392911 - 0.0130042 * T + 0.00256 * Math.cos(omega)); // 22.2, 25.8
  const rightAscensionDeg = turn(degrees(Math.atan2(Math.cos(epsilon) * Math.sin(lambda), Math.cos(lambda)))); // 25.6
  const declinationDeg = degrees(Math.asin(Math.sin(epsilon) * Math.sin(lambda))); // 25.7
  const y = Math.tan(epsilon / 2) ** 2;
  const L0 = radians(meanLongitudeDeg);
  const equationOfTimeMin =
    4 *
    degrees(
      y * Math.sin(2 * L0) -
        2 * e * Math.sin(M) +
        4 * e * y * Math.sin(M) * Math.cos(2 * L0) -
        0.5 * y * y * Math.sin(4 * L0) -
        1.25 * e * e * Math.sin(2 * M),
    ); // 28.3
  return {
    meanLongitudeDeg,
    meanAnomalyDeg,
    equationOfCentreDeg,
    trueLongitudeDeg,
    distanceAu,
    rightAscensionDeg,
    declinationDeg,
    equationOfTimeMin,
  };
}

export interface SunPosition {
  /** Degrees clockwise from north, 0 to 360. */
  readonly azimuthDeg: number;
  /** Altitude of the centre above the horizon without air, -90 to 90°. */
  readonly altitudeDeg: number;
  /** Altitude as seen, lifted by refraction (sea level, 10 °C); equals altitudeDeg below -1°. */
  readonly apparentAltitudeDeg: number;
}

/**
 * Where the sun stands at an instant, to about 0.02°.
 * @param utcMs milliseconds since 1970-01-01 UTC
 * @param latitudeDeg north, -90 to 90
 * @param longitudeDeg east, -180 to 180
 * @throws RangeError on a value out of range
 * @see Meeus ch. 12 (sidereal time 12.4), 13 (13.5, 13.6), 16 (refraction 16.4)
 */
export function sunPosition(utcMs: number, latitudeDeg: number, longitudeDeg: number): SunPosition {
  const phi = radians(expectInRange('latitudeDeg', latitudeDeg, -90, 90, '°'));
  expectInRange('longitudeDeg', longitudeDeg, -180, 180, '°');
  const JD = julianDay(utcMs);
  const sun = solarCoordinates(JD);
  const siderealDeg = 280.46061837 + 360.98564736629 * (JD - 2_451_545); // 12.4
  const H = radians(turn(siderealDeg + longitudeDeg - sun.rightAscensionDeg));
  const delta = radians(sun.declinationDeg);
  const sine = Math.sin(phi) * Math.sin(delta) + Math.cos(phi) * Math.cos(delta) * Math.cos(H); // 13.6
  const altitudeDeg = degrees(Math.asin(Math.min(1, Math.max(-1, sine)))); // last-bit overshoot at the zenith only
  const fromSouth = Math.atan2(
    Math.sin(H) * Math.cos(delta),
    Math.cos(H) * Math.sin(phi) * Math.cos(delta) - Math.sin(delta) * Math.cos(phi),
  ); // 13.5
  const refractionDeg = altitudeDeg < -1 ? 0 : 1.02 / 60 / Math.tan(radians(altitudeDeg + 10.3 / (altitudeDeg + 5.11))); // 16.4
  return {
    azimuthDeg: turn(degrees(fromSouth) + 180),
    altitudeDeg,
    apparentAltitudeDeg: altitudeDeg + Math.max(0, refractionDeg),
  };
}
