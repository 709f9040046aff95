import { type Amount, type Factors, fromCanonical, toCanonical, unitsOf } from './amount';
import { US_FLUID_OUNCE_L, US_GALLON_L } from './exact';

const L_PER_MIN_PER = {
  'L/min': 1,
  'mL/min': 0.001,
  'mL/s': 0.06,
  'us-gal/min': US_GALLON_L,
  'us-fl-oz/min': US_FLUID_OUNCE_L,
} as const;

export type FlowUnit = keyof typeof L_PER_MIN_PER;
/** The flow of a nozzle or a sprayer. */
export type Flow = Amount<FlowUnit>;
const FACTORS: Factors<FlowUnit> = L_PER_MIN_PER;
/** Every flow unit a person may pick. */
export const FLOW_UNITS: readonly FlowUnit[] = unitsOf(FACTORS);

/** The flow in L/min. @throws RangeError for a number that isn't finite or a unit that isn't one of flow. */
export function toLPerMin(amount: Flow): number {
  return toCanonical('flow', amount, FACTORS);
}

/** A flow given in L/min, in the unit asked for. @throws RangeError as `toLPerMin`. */
export function fromLPerMin(flowLPerMin: number, unit: FlowUnit): Flow {
  return fromCanonical('flow', flowLPerMin, unit, FACTORS);
}
