import type { UnitSystem } from '@/lib/units/display';
import { fromKg, toKg } from '@/lib/units/mass';

/** What can be measured on a plot besides photographing and rating it. */
export const MEASUREMENT_KINDS = ['clippings', 'meter', 'count'] as const;
export type MeasurementKind = (typeof MEASUREMENT_KINDS)[number];

/** Units a weight of clippings may be typed in: `oz` is the ounce of weight. */
export const CLIPPING_UNITS = ['g', 'oz'] as const;

/** One value as a person typed it. */
export interface TypedMeasurement {
  readonly kind: MeasurementKind;
  readonly value: number;
  /** g or oz for clippings; the meter's own unit or nothing for the others. */
  readonly unit: string;
}

/**
 * The value the diary compares: clippings in grams, the others as read.
 * @throws RangeError for clippings in another unit
 */
export function canonicalMeasurement({ kind, value, unit }: TypedMeasurement): number {
  if (kind !== 'clippings') return value;
  const known = CLIPPING_UNITS.find((one) => one === unit);
  if (!known) throw new RangeError(`unit of clippings: expected g or oz, got '${unit}'`);
  return toKg({ value, unit: known }) * 1000;
}

/** A measured column of a trial: what was measured, under the name it was given. */
export interface MeasuredColumn {
  readonly kind: MeasurementKind;
  readonly name: string;
  /** Unit the column is shown in. */
  readonly unit: string;
}

/** How a column is told from others, also in an address. */
export const columnKey = ({ kind, name }: Pick<MeasuredColumn, 'kind' | 'name'>): string =>
  `${kind}:${name.toLowerCase()}`;

/** Clippings are weighed in grams or, for a reader of US units, in ounces. */
const clippingsUnit = (system: UnitSystem) => (system === 'metric' ? 'g' : 'oz');

/** The columns of some values, in the order in which they first came; the first spelling of a name is the column's. */
export function columnsOf(
  values: readonly { readonly kind: MeasurementKind; readonly name: string; readonly enteredUnit: string }[],
  system: UnitSystem,
): MeasuredColumn[] {
  const columns = new Map<string, MeasuredColumn>();
  for (const { kind, name, enteredUnit } of values) {
    const column = { kind, name, unit: kind === 'clippings' ? clippingsUnit(system) : enteredUnit };
    if (!columns.has(columnKey(column))) columns.set(columnKey(column), column);
  }
  return [...columns.values()];
}

/** A value as its column shows it: clippings, kept in grams, in the reader's unit. */
export function columnValue(
  { kind, value }: { readonly kind: MeasurementKind; readonly value: number },
  system: UnitSystem,
): number {
  return kind === 'clippings' ? fromKg(value / 1000, clippingsUnit(system)).value : value;
}
