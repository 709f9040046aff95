/**
 * Guards for a caller's mistakes: one wording everywhere, "name: expected what, got what".
 * Each returns the value, so a guard can stand where the value is used.
 */

function refuse(name: string, expected: string, got: unknown): never {
  const shown = typeof got === 'string' ? `'${got}'` : String(got);
  throw new RangeError(`${name}: expected ${expected}, got ${shown}`);
}

/** A finite number within [min, max] in the unit named. @throws RangeError */
export function expectInRange(name: string, value: number, min: number, max: number, unit: string): number {
  if (!Number.isFinite(value) || value < min || value > max) {
    refuse(name, `a number from ${min} to ${max} ${unit}`.trimEnd(), value);
  }
  return value;
}

/** A finite number above zero in the unit named. @throws RangeError */
export function expectPositive(name: string, value: number, unit: string): number {
  if (!Number.isFinite(value) || value <= 0) refuse(name, `a number above 0 ${unit}`.trimEnd(), value);
  return value;
}

/** A finite number of zero or more in the unit named. @throws RangeError */
export function expectNotNegative(name: string, value: number, unit: string): number {
  if (!Number.isFinite(value) || value < 0) refuse(name, `0 or more ${unit}`.trimEnd(), value);
  return value;
}

/** A finite number. @throws RangeError */
export function expectFinite(name: string, value: number): number {
  if (!Number.isFinite(value)) refuse(name, 'a finite number', value);
  return value;
}

/** A whole number within [min, max]. @throws RangeError */
export function expectWhole(name: string, value: number, min: number, max: number): number {
  if (!Number.isInteger(value) || value < min || value > max)
    refuse(name, `a whole number from ${min} to ${max}`, value);
  return value;
}

/** A list with at least `min` entries. @throws RangeError */
export function expectAtLeast<T>(name: string, list: ArrayLike<T>, min: number): ArrayLike<T> {
  if (list.length < min) refuse(name, `at least ${min} values`, list.length);
  return list;
}

/**
 * An answer that a form can put at its field: what was expected and what came, when the input is a person's and not a
 * caller's mistake.
 */
export interface Refusal {
  readonly kind: 'refused';
  /** Name of the input to change, as the function's argument calls it. */
  readonly field: string;
  /** One sentence: what was expected, what came. */
  readonly sentence: string;
}

/** Make a refusal. */
export function refused(field: string, sentence: string): Refusal {
  return { kind: 'refused', field, sentence };
}
