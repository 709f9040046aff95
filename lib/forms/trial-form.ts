import { z } from 'zod';
import { LAYOUTS } from '@/lib/trial/design';
import { LENGTH_UNITS, toM } from '@/lib/units/length';
import { LIQUID_AREA_RATE_UNITS, RATE_UNITS, toLPerHa, type RateUnit } from '@/lib/units/rate';
import {
  amountField,
  choiceField,
  idField,
  isCalendarDay,
  numberField,
  optionalAmountField,
  optionalNumberField,
  optionalTextField,
  rowsOf,
  textField,
  tickField,
} from './fields';

const text = z.string().optional();

/** A civil date, 2026-05-01. */
function dateField(label: string) {
  return z.string({ error: `${label}: expected a date, got nothing` }).refine(isCalendarDay, {
    error: (issue) => `${label}: expected a date such as 2026-05-01, got '${String(issue.input)}'`,
  });
}

/** Days as people list them: "1, 3, 7, 14". */
const photoDaysField = z
  .string({ error: 'Photo days: expected days such as 1, 3, 7, 14, got nothing' })
  .transform((typed, context) => {
    const days = typed
      .split(/[\s,;]+/)
      .filter((part) => part !== '')
      .map((part) => (/^\d+$/.test(part) ? Number(part) : Number.NaN));
    if (days.length === 0 || days.some((day) => !(day >= 1 && day <= 365))) {
      context.addIssue({
        code: 'custom',
        message: `Photo days: expected whole days from 1 to 365 such as 1, 3, 7, 14, got ${typed.trim() === '' ? 'nothing' : `'${typed.trim()}'`}`,
      });
      return z.NEVER;
    }
    return [...new Set(days)].sort((a, b) => a - b);
  });

const treatmentRow = z.object({
  name: text,
  isCheck: tickField,
  onSubplots: tickField,
  items: rowsOf(z.object({ productId: text, rate: z.object({ value: text, unit: text }).optional() })),
});

/** A new trial as the page posts it. Metres and L/ha out; carrier volume and rates are kept as typed as well. */
export const TrialForm = z
  .object({
    name: textField('Name', 80),
    question: optionalTextField('Question', 500),
    design: choiceField('Design', LAYOUTS),
    blocks: numberField('Replicates', { min: 1, max: 50, whole: true }),
    blockSize: optionalNumberField('Strips in a block', { min: 2, max: 20, whole: true }),
    seed: numberField('Seed', { min: 0, max: 2_000_000_000, whole: true }),
    startsOn: dateField('First spray'),
    photoDays: photoDaysField,
    swath: amountField('Swath', LENGTH_UNITS, { above: 0, max: 3000 }),
    passesPerStrip: numberField('Passes a strip', { min: 1, max: 20, whole: true }),
    stripLength: amountField('Strip length', LENGTH_UNITS, { above: 0, max: 100_000 }),
    buffer: optionalAmountField('Buffer', LENGTH_UNITS, { min: 0, max: 3000 }),
    alley: optionalAmountField('Alley', LENGTH_UNITS, { min: 0, max: 10_000 }),
    blocksInOneRow: tickField,
    originX: optionalAmountField('Right of the lawn’s left stake', LENGTH_UNITS, { min: -100_000, max: 100_000 }),
    originY: optionalAmountField('Beyond the lawn’s left stake', LENGTH_UNITS, { min: -100_000, max: 100_000 }),
    carrier: optionalAmountField('Carrier volume', LIQUID_AREA_RATE_UNITS, { above: 0, max: 100_000 }),
    note: optionalTextField('Note'),
    treatments: rowsOf(treatmentRow).transform((rows, context) => {
      const wrong = (path: (string | number)[], message: string) => context.addIssue({ code: 'custom', path, message });
      return rows.map((row, index) => {
        const name = row.name?.trim() ?? '';
        if (name === '' || name.length > 60)
          wrong(
            [index, 'name'],
            `Treatment ${index + 1}: expected a name of at most 60 characters, got ${name === '' ? 'nothing' : `${name.length}`}`,
          );
        const items: { productId: string; rate: { value: number; unit: RateUnit } }[] = [];
        if (!row.isCheck) {
          row.items.forEach((item, place) => {
            if (!item.productId && !item.rate?.value) return;
            const id = idField.safeParse(item.productId ?? '');
            if (!id.success)
              wrong(
                [index, 'items', place, 'productId'],
                `${name || `Treatment ${index + 1}`}: expected a product from the shelf, got nothing`,
              );
            const rate = amountField('Rate', RATE_UNITS, { above: 0, max: 1e6 }).safeParse(item.rate);
            if (!rate.success)
              wrong(
                [index, 'items', place, 'rate'],
                rate.error.issues[0]?.message ?? 'Rate: expected a number with a unit',
              );
            if (id.success && rate.success) items.push({ productId: id.data, rate: rate.data });
          });
        }
        return { name, isCheck: row.isCheck, onSubplots: row.onSubplots, items };
      });
    }),
  })
  .transform(({ swath, stripLength, buffer, alley, originX, originY, carrier, ...rest }) => ({
    ...rest,
    swathM: toM(swath),
    stripLengthM: toM(stripLength),
    bufferM: buffer ? toM(buffer) : null,
    alleyM: alley ? toM(alley) : null,
    originM: [originX ? toM(originX) : 0, originY ? toM(originY) : 0] as [number, number],
    carrierLPerHa: carrier ? toLPerHa(carrier) : null,
    carrierEnteredValue: carrier?.value ?? null,
    carrierEnteredUnit: carrier?.unit ?? null,
  }));

/** What may still be changed of a trial that was laid out: not its plots, nor what they get. */
export const TrialFactsForm = z.object({
  name: textField('Name', 80),
  question: optionalTextField('Question', 500),
  startsOn: dateField('First spray'),
  photoDays: photoDaysField,
  note: optionalTextField('Note'),
});
export type TrialFacts = z.output<typeof TrialFactsForm>;

export type TrialEntry = z.output<typeof TrialForm>;

/** A reason to leave something out: one plot in one photo, or the whole photo. */
export const OmissionForm = z.object({
  photoId: idField,
  plotId: z
    .string()
    .optional()
    .transform((id) => (id ? id : null)),
  reason: textField('Reason', 300),
});

/** Scores of a rating session: `scores.0.plotId`, `.photoId`, `.score`; a strip without a score is left for later. */
export const RatingForm = z
  .object({
    rater: textField('Who rates', 60),
    scores: rowsOf(
      z.object({
        plotId: idField,
        photoId: idField,
        score: optionalNumberField('Score', { min: 1, max: 9, whole: true }),
      }),
    ).transform((rows, context) => {
      if (rows.every(({ score }) => score === null))
        context.addIssue({ code: 'custom', message: 'Scores: expected at least one, got none' });
      return rows;
    }),
  })
  .transform(({ rater, scores }) => ({
    rater,
    scores: scores.flatMap(({ score, ...strip }) => (score === null ? [] : [{ ...strip, score }])),
    /** Pictures that were shown and got no score. */
    unscored: scores.filter(({ score }) => score === null).length,
  }));

export const MEASURES = [
  'change-against-check',
  'change',
  'adjusted-for-baseline',
  'index',
  'rating',
  'measured',
] as const;
export type TrialMeasure = (typeof MEASURES)[number];

/**
 * What becomes of marked patches: left out of the ground that is compared, counted with it, or their whole strip left
 * out.
 */
export const MARKED = ['left-out', 'counted', 'without'] as const;

const AnalysisQuery = z.object({
  measure: z.enum(MEASURES).catch('change-against-check'),
  /** Which measured column, where one is analysed. */
  column: z.string().max(80).nullable().catch(null).default(null),
  comparison: z.enum(['tukey', 'lsd']).catch('tukey'),
  marked: z.enum(MARKED).catch('left-out'),
  /** Largest difference from the check that still counts as none; empty asks nothing. */
  margin: z.coerce.number().gt(0).max(9).nullable().catch(null),
});

/** How an analysis page is asked to look at a trial. */
export function readAnalysisQuery(
  search: Record<string, string | string[] | undefined>,
): z.infer<typeof AnalysisQuery> {
  return AnalysisQuery.parse(search);
}

const RateQuery = z.object({
  rater: z.string().trim().min(1).max(60).optional().catch(undefined),
  on: z
    .string()
    .regex(/^\d{4}-\d{2}-\d{2}$/)
    .optional()
    .catch(undefined),
});

export function readRateQuery(search: Record<string, string | string[] | undefined>): z.infer<typeof RateQuery> {
  return RateQuery.parse(search);
}

/** GET a shared link's strip: ?photo=…&plot=…. */
export const SharedStripQuery = z.object({ photo: idField, plot: idField });
