import { PRINT_WIDTHS } from '@/lib/photo/raster/print-width';
import { ANY_TURF } from '@/lib/colour/greenness-range';
import { z } from 'zod';
import { idField, localDateTimeField, optionalTextField } from './fields';
import { sightingsField } from './landmark-form';

/** Minutes east of UTC at the end of an ISO instant: Z, +02:00. */
function offsetOf(text: string): number {
  const [, sign, hours, minutes] = /([+-])(\d{2}):(\d{2})$/.exec(text) ?? [];
  return sign === undefined ? 0 : (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes));
}

/** Degrees in an address, from -most to most; undefined when it isn't there. */
function angleField(name: string, most: number) {
  const sentence = (input: unknown) =>
    `${name}: expected degrees from -${most} to ${most}, got '${String(input).slice(0, 40)}'`;
  return z
    .string()
    .regex(/^-?\d+(\.\d+)?$/, { error: (issue) => sentence(issue.input) })
    .transform(Number)
    .refine((angle) => Math.abs(angle) <= most, { error: (issue) => sentence(issue.input) })
    .optional();
}

/**
 * The address of an upload: PUT /api/photos?lawn=…&name=…&viewpoint=…&modified=…&taken=…&pitch=…&roll=…
 * `taken` is the phone's clock at the shutter, with its offset; it counts only when the photo itself tells no time.
 * `pitch` and `roll` are how the phone was held, degrees: 0 the horizon and -90 straight down; clockwise.
 */
export const UploadQuery = z.object({
  lawn: idField,
  name: z
    .string({ error: 'name: expected the file’s name, got nothing' })
    .trim()
    .min(1, 'name: expected the file’s name, got nothing')
    .max(255, 'name: expected at most 255 characters')
    .transform((name) => name.replaceAll(/[\p{Cc}/\\]/gu, '_')),
  viewpoint: z.string().trim().max(80, 'viewpoint: expected at most 80 characters').optional().default(''),
  modified: z.coerce.date().optional().catch(undefined),
  taken: z.iso
    .datetime({
      offset: true,
      error: (issue) =>
        `taken: expected an instant with its offset such as 2026-05-01T07:30:00-06:00, got '${String(issue.input).slice(0, 40)}'`,
    })
    .transform((text) => ({ instant: new Date(text), offsetMinutes: offsetOf(text) }))
    .optional(),
  pitch: angleField('pitch', 90),
  roll: angleField('roll', 180),
});

const finite = z
  .number({ error: 'Outline: expected numbers for the corners' })
  .min(-1e6, 'Outline: expected corners near the photo, got one far outside')
  .max(1e6, 'Outline: expected corners near the photo, got one far outside');

/** What stands in a plot's place for the boards that are outlined beside the plots. */
export const boardIds = { greyCard: 'greycard', chart: 'colourchart' } as const;

/** The outlines of a photo as the editor posts them. */
export const OutlinesForm = z.object({
  outlines: z
    .string()
    .transform((text, context): unknown => {
      try {
        return JSON.parse(text);
      } catch {
        context.addIssue({ code: 'custom', message: 'Outlines: expected the editor’s own JSON, got something else' });
        return z.NEVER;
      }
    })
    .pipe(
      z
        .array(
          z.object({
            plotId: idField,
            corners: z
              .array(z.tuple([finite, finite]))
              .min(3, 'Outline: expected at least three corners')
              .max(100, 'Outline: expected at most 100 corners'),
          }),
        )
        .max(200, 'Outlines: expected at most 200 plots')
        .refine(
          (outlines) => new Set(outlines.map((outline) => outline.plotId)).size === outlines.length,
          'Outlines: expected each plot once, got one twice',
        ),
    ),
  found: sightingsField,
});

export const PhotoFactsForm = z.object({
  viewpoint: optionalTextField('Viewpoint', 80),
  takenLocal: localDateTimeField('Taken'),
  note: optionalTextField('Note'),
});

/** Which size of a photo is asked for. */
export const PrintQuery = z.object({
  width: z
    .enum(PRINT_WIDTHS.map(String), { error: `width: expected one of ${PRINT_WIDTHS.join(', ')}` })
    .transform((width) => PRINT_WIDTHS.find((known) => String(known) === width))
    .optional(),
});

const share = (name: string) =>
  z.coerce
    .number({ error: `${name}: expected an index from 0 to 1` })
    .min(0, `${name}: expected an index from 0 to 1`)
    .max(1, `${name}: expected an index from 0 to 1`);

/** Between which indices the colours of a greenness map span. */
export const MapQuery = z
  .object({ from: share('from').default(ANY_TURF.from), to: share('to').default(ANY_TURF.to) })
  .refine(({ from, to }) => to - from >= 0.01, { error: 'to: expected an index at least 0.01 above from' });

/** Which plot of a photo is asked for. */
export const AboveQuery = z.object({ plot: idField });

/** Which plot is to be cut out, and what the cut-out was called when the page was made. */
export const CutQuery = z.object({
  plot: idField,
  as: z
    .string()
    .regex(/^[0-9a-f]{16}$/, { error: 'as: expected sixteen hexadecimal digits' })
    .optional(),
});
