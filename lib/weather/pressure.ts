import { expectInRange } from '@/lib/expect';

/**
 * Mean atmospheric pressure at a height, about 54 to 108 kPa, from the standard atmosphere at 20 °C.
 * @param elevationM height above sea level, -500 to 5000 m
 * @returns kPa
 * @throws RangeError outside that range
 * @see FAO-56 (Allen et al. 1998) eq. 7
 * @example atmosphericPressureKPa(1800) // 81.8 (FAO-56 example 2)
 */
export function atmosphericPressureKPa(elevationM: number): number {
  expectInRange('elevationM', elevationM, -500, 5000, 'm');
  return 101.3 * ((293 - 0.0065 * elevationM) / 293) ** 5.26; // eq. 7
}

/**
 * The psychrometric constant of the evapotranspiration equations, about 0.035 to 0.072 kPa/°C.
 * @param pressureKPa 50 to 110 kPa
 * @throws RangeError outside that range
 * @see FAO-56 eq. 8
 * @example psychrometricConstantKPaPerC(81.8) // 0.054
 */
export function psychrometricConstantKPaPerC(pressureKPa: number): number {
  expectInRange('pressureKPa', pressureKPa, 50, 110, 'kPa');
  return 0.665e-3 * pressureKPa; // eq. 8
}

/**
 * Psychrometer coefficients a_psy in 1/°C, by how the wet bulb is ventilated.
 * @see FAO-56 below eq. 16
 */
export const PSYCHROMETER_PER_C = {
  /** Aspirated at about 5 m/s. */
  aspirated: 0.000662,
  /** Naturally ventilated, about 1 m/s. */
  natural: 0.0008,
  /** Indoors, not ventilated. */
  indoors: 0.0012,
} as const;
