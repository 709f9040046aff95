import { z } from 'zod';
import { CLIPPING_UNITS, MEASUREMENT_KINDS } from '@/lib/trial/measurement';
import {
  choiceField,
  idField,
  localDateTimeField,
  optionalNumberField,
  optionalTextField,
  rowsOf,
  textField,
  tickField,
} from './fields';

const atLeastOne = (rows: readonly { value: number | null }[], context: z.RefinementCtx): void => {
  if (rows.every(({ value }) => value === null))
    context.addIssue({ code: 'custom', message: 'Values: expected at least one, got none' });
};
const given = <T extends { value: number | null }>(rows: readonly T[]) =>
  rows.flatMap((row) => (row.value === null ? [] : [{ ...row, value: row.value }]));

/** Ratings given on the lawn, strip by strip, without a photo. */
export const SiteRatingForm = z
  .object({
    rater: textField('Who rates', 60),
    at: localDateTimeField('When'),
    blind: tickField,
    rows: rowsOf(
      z.object({ plotId: idField, value: optionalNumberField('Rating', { min: 1, max: 9, whole: true }) }),
    ).superRefine(atLeastOne),
  })
  .transform(({ rows, ...rest }) => ({ ...rest, rows: given(rows) }));

const LIMITS = {
  clippings: { min: 0, max: 1_000_000 },
  meter: { min: -1_000_000, max: 1_000_000 },
  count: { min: 0, max: 10_000_000, whole: true },
} as const;

const common = { by: optionalTextField('Who', 60), at: localDateTimeField('When') };
const rows = (kind: (typeof MEASUREMENT_KINDS)[number], label: string) =>
  rowsOf(z.object({ plotId: idField, value: optionalNumberField(label, LIMITS[kind]) })).superRefine(atLeastOne);

/** What was weighed, read off or counted on the lawn, strip by strip. */
export const MeasurementForm = z
  .discriminatedUnion(
    'kind',
    [
      z.object({
        kind: z.literal('clippings'),
        name: textField('What it is', 60),
        unit: choiceField('Unit', CLIPPING_UNITS),
        rows: rows('clippings', 'Weight'),
        ...common,
      }),
      z.object({
        kind: z.literal('meter'),
        name: textField('What it is', 60),
        unit: optionalTextField('Unit', 20),
        rows: rows('meter', 'Reading'),
        ...common,
      }),
      z.object({
        kind: z.literal('count'),
        name: textField('What it is', 60),
        unit: optionalTextField('Unit', 20),
        rows: rows('count', 'Count'),
        ...common,
      }),
    ],
    { error: `What: expected one of ${MEASUREMENT_KINDS.join(', ')}` },
  )
  .transform(({ rows: all, ...rest }) => ({ ...rest, rows: given(all) }));
export type MeasurementEntry = z.output<typeof MeasurementForm>;
export type SiteRatingEntry = z.output<typeof SiteRatingForm>;

const SiteQuery = z.object({ what: z.enum(['rating', ...MEASUREMENT_KINDS]).catch('rating') });

/** What a person wants to write down on the lawn. */
export const readSiteQuery = (search: Record<string, string | string[] | undefined>): z.infer<typeof SiteQuery> =>
  SiteQuery.parse(search);
