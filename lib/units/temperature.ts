import { expectFinite } from '@/lib/expect';
import type { Amount } from './amount';
import { ZERO_CELSIUS_K } from './exact';

/** Every temperature unit a person may pick; the same names serve differences. */
export const TEMPERATURE_UNITS = ['degC', 'degF', 'K'] as const;
export type TemperatureUnit = (typeof TEMPERATURE_UNITS)[number];
/** A reading of a thermometer. A difference of two readings is `TemperatureDifference`. */
export type Temperature = Amount<TemperatureUnit>;
/** A difference of two temperatures: 10 °C apart is 18 °F apart. */
export type TemperatureDifference = Amount<TemperatureUnit> & { readonly kind: 'difference' };

function foreign(unit: never): never {
  throw new RangeError(`temperature unit: expected one of ${TEMPERATURE_UNITS.join(', ')}, got '${String(unit)}'`);
}

/** The temperature in °C. @throws RangeError for a number that isn't finite or a foreign unit. */
export function toC({ value, unit }: Temperature): number {
  expectFinite('temperature', value);
  if (unit === 'degC') return value;
  if (unit === 'degF') return ((value - 32) * 5) / 9;
  if (unit === 'K') return value - ZERO_CELSIUS_K;
  return foreign(unit);
}

/** A temperature given in °C, in the unit asked for. @throws RangeError as `toC`. */
export function fromC(temperatureC: number, unit: TemperatureUnit): Temperature {
  expectFinite('temperature', temperatureC);
  if (unit === 'degC') return { value: temperatureC, unit };
  if (unit === 'degF') return { value: (temperatureC * 9) / 5 + 32, unit };
  if (unit === 'K') return { value: temperatureC + ZERO_CELSIUS_K, unit };
  return foreign(unit);
}

/** A temperature difference given in °C, in the unit asked for. @throws RangeError as `toC`. */
export function fromDifferenceC(differenceC: number, unit: TemperatureUnit): TemperatureDifference {
  expectFinite('temperature difference', differenceC);
  if (unit === 'degC' || unit === 'K') return { value: differenceC, unit, kind: 'difference' };
  if (unit === 'degF') return { value: (differenceC * 9) / 5, unit, kind: 'difference' };
  return foreign(unit);
}
