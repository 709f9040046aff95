import { expectFinite } from '@/lib/expect';

/** A number together with the unit it was given in; `U` is the closed union of one dimension. */
export interface Amount<U extends string> {
  readonly value: number;
  readonly unit: U;
}

/** How many canonical units one of each unit is. */
export type Factors<U extends string> = Readonly<Record<U, number>>;

/** The factor of a unit. @throws RangeError when the unit isn't of this dimension. */
export function factorOf<U extends string>(dimension: string, unit: U, factors: Factors<U>): number {
  if (!Object.hasOwn(factors, unit)) {
    throw new RangeError(
      `${dimension} unit: expected one of ${Object.keys(factors).join(', ')}, got '${String(unit)}'`,
    );
  }
  return factors[unit];
}

/**
 * The amount as a plain number of canonical units.
 * @throws RangeError for a number that isn't finite or a foreign unit.
 */
export function toCanonical<U extends string>(dimension: string, amount: Amount<U>, factors: Factors<U>): number {
  return expectFinite(dimension, amount.value) * factorOf(dimension, amount.unit, factors);
}

/** A canonical number as an amount in the unit asked for. @throws RangeError as `toCanonical`. */
export function fromCanonical<U extends string>(
  dimension: string,
  value: number,
  unit: U,
  factors: Factors<U>,
): Amount<U> {
  return { value: expectFinite(dimension, value) / factorOf(dimension, unit, factors), unit };
}

/** The units of a dimension, in the order in which they are listed. */
export function unitsOf<U extends string>(factors: Factors<U>): readonly U[] {
  return Object.keys(factors) as U[];
}
