/**
 * What a typed number may be, and how that is said when it isn't: one wording for forms and for pages that answer while
 * one types.
 */
export type NumberLimits = { min?: number; max?: number; above?: number; unit?: string; whole?: boolean };

/**
 * A number as people type it: a decimal comma is taken, a thousands separator is refused rather than guessed.
 * @returns the number, NaN when it is none
 * @example readTypedNumber('1,5') // 1.5
 */
export function readTypedNumber(text: string): number {
  const trimmed = text.trim().replaceAll(' ', '');
  const dotted = /^[-+]?\d+,\d{1,2}$/.test(trimmed) ? trimmed.replace(',', '.') : trimmed;
  return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(dotted) ? Number(dotted) : Number.NaN;
}

/** What was expected, without what came: "Tank: expected a number above 0 L". */
export function numberExpectation(label: string, limits: NumberLimits): string {
  const kind = limits.whole ? 'a whole number' : 'a number';
  const unit = limits.unit ? ` ${limits.unit}` : '';
  if (limits.above !== undefined) {
    return `${label}: expected ${kind} above ${limits.above}${limits.max === undefined ? '' : ` and at most ${limits.max}`}${unit}`;
  }
  if (limits.min !== undefined && limits.max !== undefined)
    return `${label}: expected ${kind} from ${limits.min} to ${limits.max}${unit}`;
  if (limits.min !== undefined) return `${label}: expected ${kind} of ${limits.min} or more${unit}`;
  return `${label}: expected ${kind}${unit}`;
}

/** Whether a number is one the limits allow. */
export function withinLimits(value: number, limits: NumberLimits): boolean {
  return (
    Number.isFinite(value) &&
    (!limits.whole || Number.isInteger(value)) &&
    (limits.above === undefined || value > limits.above) &&
    (limits.min === undefined || value >= limits.min) &&
    (limits.max === undefined || value <= limits.max)
  );
}
