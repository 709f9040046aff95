import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { FOOT_M, MILE_M } from './exact';

const M_PER_S_PER = {
  'm/s': 1,
  'km/h': 1 / 3.6,
  mph: MILE_M / 3600,
  'ft/min': FOOT_M / 60,
  'ft/s': FOOT_M,
  knot: 1852 / 3600,
} as const;

export type SpeedUnit = keyof typeof M_PER_S_PER;
/** A speed, of wind or of walking. */
export type Speed = Amount<SpeedUnit>;
const FACTORS: Factors<SpeedUnit> = M_PER_S_PER;
/** Every speed unit a person may pick. */
export const SPEED_UNITS: readonly SpeedUnit[] = unitsOf(FACTORS);

/** The speed in m/s. @throws RangeError for a number that isn't finite or a unit that isn't one of speed. */
export function toMPerS(amount: Speed): number {
  return toCanonical('speed', amount, FACTORS);
}

/** A speed given in m/s, in the unit asked for. @throws RangeError as `toMPerS`. */
export function fromMPerS(speedMPerS: number, unit: SpeedUnit): Speed {
  return fromCanonical('speed', speedMPerS, unit, FACTORS);
}
