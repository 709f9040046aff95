import { z } from 'zod';
import { PRODUCT_USES, RENOVATION_KINDS, SIGHTING_KINDS, TRAFFIC_KINDS } from '@/lib/trial/lawn-event';
import { fromM, LENGTH_UNITS, toM, type LengthUnit } from '@/lib/units/length';
import { SENSIBLE } from '@/lib/units/limits';
import { RATE_UNITS } from '@/lib/units/rate';
import {
  choiceField,
  idField,
  listOf,
  localDateTimeField,
  optionalAmountField,
  optionalMeasureField,
  optionalNumberField,
  optionalTextField,
  textField,
  tickField,
} from './fields';

const common = { atLocal: localDateTimeField('When'), plotIds: listOf(idField), note: optionalTextField('Note') };

const depth = (label: string) =>
  optionalMeasureField<LengthUnit>(label, {
    units: LENGTH_UNITS,
    toCanonical: (amount) => toM(amount) * 1000,
    fromCanonical: (mm, unit) => fromM(mm / 1000, unit),
    ...SENSIBLE.waterMm,
  });

/** What happened to the lawn besides a spray, one kind at a time. No plot ticked means the whole lawn. */
export const LawnEventForm = z.discriminatedUnion(
  'kind',
  [
    z.object({
      ...common,
      kind: z.literal('mowing'),
      height: optionalMeasureField<LengthUnit>('Height of cut', {
        units: LENGTH_UNITS,
        toCanonical: toM,
        fromCanonical: fromM,
        ...SENSIBLE.mowingHeightM,
      }),
      directionDeg: optionalNumberField('Direction', { min: 0, max: 360, unit: 'degrees' }),
      bladeSharpened: tickField,
    }),
    z.object({
      ...common,
      kind: z.literal('watering'),
      water: depth('Water'),
      minutes: optionalNumberField('Minutes', { above: 0, max: 1440 }),
    }),
    z.object({ ...common, kind: z.literal('rain'), water: depth('Rain') }),
    z
      .object({
        ...common,
        kind: z.literal('product'),
        use: choiceField('What for', PRODUCT_USES),
        productId: z
          .string()
          .optional()
          .transform((id) => (id ? id : null)),
        name: optionalTextField('Name', 120),
        rate: optionalAmountField('Rate', RATE_UNITS, { above: 0, max: 1e6 }),
      })
      .superRefine((entry, context) => {
        if (entry.productId === null && entry.name === '')
          context.addIssue({
            code: 'custom',
            path: ['name'],
            message: 'Product: expected one from the shelf or its name, got neither',
          });
      }),
    z.object({
      ...common,
      kind: z.literal('traffic'),
      traffic: choiceField('What', TRAFFIC_KINDS),
      name: optionalTextField('In your words', 120),
    }),
    z.object({
      ...common,
      kind: z.literal('sighting'),
      seen: choiceField('What', SIGHTING_KINDS),
      name: textField('What it looks like', 120),
      sharePercent: optionalNumberField('Share of the ground', { min: 0, max: 100, unit: '%' }),
    }),
    z.object({ ...common, kind: z.literal('renovation'), done: choiceField('What was done', RENOVATION_KINDS) }),
  ],
  {
    error:
      'What happened: expected mowing, watering, rain, a product, traffic, something seen or a renovation, got something else',
  },
);

export type LawnEventEntry = z.output<typeof LawnEventForm>;
