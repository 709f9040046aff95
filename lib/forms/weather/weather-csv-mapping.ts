import { z } from 'zod';
import { TEXT_ENCODINGS } from '@/lib/forms/weather/text-encoding';
import { COLUMN_FIELDS, COLUMN_KINDS } from '@/lib/forms/weather/weather-columns';
import { DATE_ORDERS } from '@/lib/forms/weather/weather-stamps';
import { isTimeZone } from '@/lib/weather/local-time';

export const DELIMITERS = [',', ';', '\t', '|'] as const;

/** What loggers write where they have no figure, in lower case. */
export const MISSING_WORDS = new Set([
  '',
  '-',
  '--',
  '---',
  '----',
  'na',
  'n/a',
  'nan',
  'null',
  'none',
  'nil',
  '-9999',
  '-9999.0',
  '-999.9',
  '#n/a',
  '*',
  '?',
]);

/** How one file is to be read: what the preview guesses and the person confirms. */
export const weatherCsvMappingSchema = z
  .object({
    encoding: z.enum(TEXT_ENCODINGS, { error: `encoding: expected one of ${TEXT_ENCODINGS.join(', ')}` }),
    delimiter: z.enum(DELIMITERS, { error: 'delimiter: expected a comma, semicolon, tab or bar' }),
    decimal: z.enum(['.', ','], { error: 'decimal sign: expected a point or a comma' }),
    /** First line of data, counted from 1; what stands above is heading. */
    firstDataLine: z.number().int().min(1).max(10_000),
    dateColumn: z.number().int().min(0).max(500),
    /** Column with the time of day where it stands apart, else null. */
    timeColumn: z.number().int().min(0).max(500).nullable(),
    dateOrder: z.enum(DATE_ORDERS, {
      error: ({ input }) =>
        `date order: expected one of ${DATE_ORDERS.join(', ')}, got ${input === null ? 'nothing' : `'${String(input)}'`}`,
    }),
    /** Whether a stamp marks the start of its reading's interval or the end. */
    stampMarks: z.enum(['start', 'end']),
    clock: z.discriminatedUnion('kind', [
      z.object({
        kind: z.literal('zone'),
        timeZone: z.string().refine(isTimeZone, { error: "time zone: expected a name such as 'America/New_York'" }),
      }),
      z.object({
        kind: z.literal('fixed'),
        offsetMin: z
          .number()
          .int()
          .min(-14 * 60)
          .max(14 * 60),
      }),
    ]),
    /** Null where no column holds wind. */
    windHeightM: z
      .number()
      .min(0.5, 'wind height: expected 0.5 to 200 m')
      .max(200, 'wind height: expected 0.5 to 200 m')
      .nullable(),
    /**
     * Columns of the heading; a row with more has something in it that parts it wrongly. Null when there is no heading.
     */
    columnCount: z.number().int().min(1).max(1000).nullable().default(null),
    columns: z
      .array(z.object({ index: z.number().int().min(0).max(500), field: z.enum(COLUMN_FIELDS), unit: z.string() }))
      .min(1, 'columns: expected at least one weather column, got none'),
  })
  .superRefine((mapping, context) => {
    const seen = new Set<string>();
    for (const { field, unit } of mapping.columns) {
      if (!COLUMN_KINDS[field].units.includes(unit))
        context.addIssue({
          code: 'custom',
          message: `unit of ${field}: expected one of ${COLUMN_KINDS[field].units.join(', ')}, got ${unit === '' ? 'nothing' : `'${unit}'`}`,
        });
      if (seen.has(field))
        context.addIssue({ code: 'custom', message: `columns: expected one column for ${field}, got two` });
      seen.add(field);
    }
    if (mapping.windHeightM === null && (seen.has('windMPerS') || seen.has('gustMPerS'))) {
      context.addIssue({
        code: 'custom',
        message: 'wind height: expected the height of the anemometer, 0.5 to 200 m, got nothing',
      });
    }
  });
export type WeatherCsvMapping = z.infer<typeof weatherCsvMappingSchema>;

/**
 * A mapping as the preview leaves it: what a file can't tell is open (date order and wind height null, a unit empty)
 * and is asked.
 */
export type OpenMapping = Omit<WeatherCsvMapping, 'dateOrder'> & {
  readonly dateOrder: WeatherCsvMapping['dateOrder'] | null;
};

/** Nothing came of it; one sentence says what was expected and what came. */
export interface Refused {
  readonly ok: false;
  readonly sentence: string;
}
