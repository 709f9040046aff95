import { z } from 'zod';
import { type NumberLimits, numberExpectation, readTypedNumber, withinLimits } from '@/lib/units/typed-number';
import { significant, unitLabel } from '@/lib/units/display';
import { isLocalDateTime } from '@/lib/weather/local-text';
import { isTimeZone } from '@/lib/weather/local-time';
import type { FormResult } from './result';

/**
 * The parts forms are made of. A sentence says what was expected and what came; numbers are read as people type
 * them (a decimal comma is taken, a thousands separator is refused rather than guessed).
 */

// What no schema words for itself (a name that is missing, or comes twice where one is meant) is still said in words.
z.config({
  customError: (issue) =>
    issue.code === 'invalid_type'
      ? `Expected ${kindInWords(issue.expected)}, got ${cameInWords(issue.input)}`
      : undefined,
});

function kindInWords(expected: unknown): string {
  const words: Record<string, string> = {
    string: 'text',
    number: 'a number',
    boolean: 'yes or no',
    array: 'a list',
    object: 'an entry with parts',
    date: 'a date',
    int: 'a whole number',
  };
  return words[String(expected)] ?? String(expected);
}

function cameInWords(input: unknown): string {
  if (input === undefined || input === null || input === '') return 'nothing';
  if (Array.isArray(input)) return 'several entries';
  if (typeof input === 'object') return 'an entry with parts';
  return shown(input);
}

/** A number that must be given. */
export function numberField(label: string, limits: NumberLimits = {}) {
  return z.string({ error: `${numberExpectation(label, limits)}, got nothing` }).transform((text, context) => {
    const value = readTypedNumber(text);
    if (!withinLimits(value, limits)) {
      const got = shown(text.trim());
      context.addIssue({ code: 'custom', message: `${numberExpectation(label, limits)}, got ${got}` });
      return z.NEVER;
    }
    return value;
  });
}

/** A number, or null when the field is left empty. */
export function optionalNumberField(label: string, limits: NumberLimits = {}) {
  return z
    .string()
    .optional()
    .transform((text, context) => {
      if (text === undefined || text.trim() === '') return null;
      const value = readTypedNumber(text);
      if (!withinLimits(value, limits)) {
        context.addIssue({ code: 'custom', message: `${numberExpectation(label, limits)}, got ${shown(text.trim())}` });
        return z.NEVER;
      }
      return value;
    });
}

/** Trimmed text of 1 to `max` characters. */
export function textField(label: string, max = 120) {
  return z
    .string({ error: `${label}: expected some text, got nothing` })
    .trim()
    .min(1, `${label}: expected some text, got nothing`)
    .max(max, `${label}: expected at most ${max} characters`);
}

/** Trimmed text, possibly empty. */
export function optionalTextField(label: string, max = 4000) {
  return z.string().trim().max(max, `${label}: expected at most ${max} characters`).optional().default('');
}

/** A tick box: ticked or not. */
export const tickField = z
  .string()
  .optional()
  .transform((value) => value !== undefined && value !== '');

/** One of the values named. */
export function choiceField<const T extends readonly string[]>(label: string, values: T) {
  const some =
    values.length <= 12 ? values.join(', ') : `${values.slice(0, 6).join(', ')} and ${values.length - 6} more`;
  return z.enum(values, { error: (issue) => `${label}: expected one of ${some}, got ${shown(issue.input)}` });
}

/** `{ value, unit }` as typed, the unit one of a closed set. Null when the value is left empty. */
export function optionalAmountField<const T extends readonly string[]>(
  label: string,
  units: T,
  limits: NumberLimits = {},
) {
  return z
    .object({ value: optionalNumberField(label, limits), unit: choiceField(`${label}: unit`, units) })
    .optional()
    .transform((amount) =>
      amount === undefined || amount.value === null ? null : { value: amount.value, unit: amount.unit },
    );
}

export function amountField<const T extends readonly string[]>(label: string, units: T, limits: NumberLimits = {}) {
  return z.object(
    { value: numberField(label, limits), unit: choiceField(`${label}: unit`, units) },
    { error: `${numberExpectation(label, limits)} with a unit, got nothing` },
  );
}

/**
 * What an amount may be, in its canonical unit, and how it is turned: so the limit is one quantity, whichever unit was
 * picked.
 */
export interface AmountBounds<U extends string> {
  units: readonly U[];
  toCanonical: (amount: { value: number; unit: U }) => number;
  fromCanonical: (canonical: number, unit: U) => { value: number };
  /** In the canonical unit, both allowed. */
  min: number;
  max: number;
}

/**
 * `{ value, unit }` as typed, within limits that follow the unit; null when the value is left empty. The sentence names
 * the limits in the unit that was typed.
 */
export function optionalMeasureField<U extends string>(label: string, measure: AmountBounds<U>) {
  return optionalAmountField(label, measure.units).transform((amount, context) => {
    if (amount === null) return null;
    const typed = { value: amount.value, unit: amount.unit as U };
    const canonical = measure.toCanonical(typed);
    if (canonical >= measure.min * (1 - 1e-9) && canonical <= measure.max * (1 + 1e-9)) return { ...typed, canonical };
    const limit = (at: number) => significant(measure.fromCanonical(at, typed.unit).value, 3);
    context.addIssue({
      code: 'custom',
      path: ['value'],
      message: `${label}: expected ${limit(measure.min)} to ${limit(measure.max)} ${unitLabel(typed.unit)}, got ${significant(typed.value, 6)}`,
    });
    return z.NEVER;
  });
}

/** An IANA time zone that this machine knows. */
export function timeZoneField(label: string) {
  return z.string({ error: `${label}: expected a time zone such as America/Denver, got nothing` }).refine(isTimeZone, {
    error: (issue) => `${label}: expected a time zone such as America/Denver, got ${shown(issue.input)}`,
  });
}

/** A year of four digits typed in part is a year of the first millennium. */
const isSensibleYear = (local: string) => Number(local.slice(0, 4)) >= 1950 && Number(local.slice(0, 4)) <= 2200;

/** Local date and time as a date-time input gives it: 2026-05-01T07:30. */
export function localDateTimeField(label: string) {
  return z
    .string({ error: `${label}: expected a date and time, got nothing` })
    .refine(isLocalDateTime, {
      error: (issue) => `${label}: expected a date and time such as 2026-05-01T07:30, got ${shown(issue.input)}`,
    })
    .refine(isSensibleYear, {
      error: (issue) => `${label}: expected a year from 1950 to 2200, got ${shown(issue.input)}`,
    });
}

/** Whether a text is a day of the calendar, 1990 to 2100, as `2026-05-01`: 31 February is none. */
export const isCalendarDay = (text: string): boolean => isLocalDateTime(`${text}T00:00`);

/** An instant in an address, as a day or with its time; what lies outside 1990 to 2100 is none a diary can show. */
export const addressInstant = z.coerce
  .date()
  .min(new Date('1990-01-01T00:00:00Z'))
  .max(new Date('2101-01-01T00:00:00Z'));

/** An optional local date and time, null when left empty. */
export function optionalLocalDateTimeField(label: string) {
  return z
    .string()
    .optional()
    .transform((text, context) => {
      if (text === undefined || text === '') return null;
      const parsed = localDateTimeField(label).safeParse(text);
      if (parsed.success) return parsed.data;
      context.addIssue({ code: 'custom', message: parsed.error.issues[0]?.message ?? label });
      return z.NEVER;
    });
}

/** An identifier as the diary makes them. */
export const idField = z
  .string()
  .regex(/^[a-z0-9]{8,40}$/, { error: (issue) => `Expected an entry of this diary, got ${shown(issue.input)}` });

function shown(value: unknown): string {
  if (value === undefined || value === null || value === '') return 'nothing';
  const text = String(value);
  return `'${text.length > 60 ? `${text.slice(0, 60)}…` : text}'`;
}

/** Form data as nested objects: `area.value` becomes `{ area: { value } }`; a name that comes twice becomes a list. */
function nestedForm(data: FormData): Record<string, unknown> {
  const root: Record<string, unknown> = {};
  for (const [name, value] of data.entries()) {
    if (typeof value !== 'string' || name.startsWith('$')) continue;
    const parts = name.split('.');
    if (parts.includes('__proto__') || parts.includes('constructor')) continue;
    let at = root;
    for (const part of parts.slice(0, -1)) {
      const next = at[part];
      at =
        typeof next === 'object' && next !== null
          ? (next as Record<string, unknown>)
          : ((at[part] = {}) as Record<string, unknown>);
    }
    const last = parts.at(-1) ?? name;
    const before = at[last];
    at[last] =
      before === undefined ? value : Array.isArray(before) ? [...(before as unknown[]), value] : [before, value];
  }
  return root;
}

/** One or many of the same name, as a list. */
export function listOf<T extends z.ZodType>(item: T) {
  return z.preprocess((value) => (value === undefined ? [] : Array.isArray(value) ? value : [value]), z.array(item));
}

/** Rows posted as `items.0.…`, `items.1.…`, in their order. */
export function rowsOf<T extends z.ZodType>(row: T) {
  return z.preprocess(
    (value) =>
      typeof value === 'object' && value !== null
        ? Object.entries(value)
            .sort(([a], [b]) => Number(a) - Number(b))
            .map(([, entry]) => entry)
        : [],
    z.array(row),
  );
}

export type Parsed<T> = { ok: true; value: T } | Extract<FormResult, { ok: false }>;

/** Reads a form by its schema: the typed value, or a sentence for each field that is off. */
export function parseForm<T>(schema: z.ZodType<T>, data: FormData): Parsed<T> {
  const parsed = schema.safeParse(nestedForm(data));
  if (parsed.success) return { ok: true, value: parsed.data };
  const errors: Record<string, string> = {};
  for (const issue of parsed.error.issues) {
    const path = issue.path.map(String);
    if (path.at(-1) === 'value' || path.at(-1) === 'unit') path.pop();
    errors[path.join('.')] ??= issue.message;
  }
  const count = Object.keys(errors).length;
  return {
    ok: false,
    errors,
    message:
      count === 1 ? (Object.values(errors)[0] ?? '') : `${count} entries need another look; nothing you typed is lost.`,
  };
}
