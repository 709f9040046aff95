import { z } from 'zod';
import { MASS_UNITS, type MassUnit } from '@/lib/units/mass';
import { VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';
import { DRY_AREA_RATE_UNITS, type DryAreaRateUnit, RATE_UNITS, type RateUnit } from '@/lib/units/rate';
import {
  amountField,
  idField,
  listOf,
  localDateTimeField,
  optionalLocalDateTimeField,
  optionalNumberField,
  optionalTextField,
  rowsOf,
} from './fields';
import { airTempField, carrierField, leftoverField, sprayedVolumeField, windField } from './measures';

const nitrogenUnits = DRY_AREA_RATE_UNITS;
const totalUnits = [...VOLUME_UNITS, ...MASS_UNITS];

/**
 * A product of a spray: by its rate, by what went into the tank in all (sent as the unit `total:us-fl-oz`), or by the
 * nitrogen it brought (`N:lb/1000ft2`).
 */
export type SprayedItem = { productId: string } & (
  | { rate: { value: number; unit: RateUnit } }
  | { total: { value: number; unit: MassUnit | VolumeUnit } }
  | { nitrogen: { value: number; unit: DryAreaRateUnit } }
);

/**
 * A spray that was done: when, where, what, how much. Times are local to the lawn and turned into instants by its time
 * zone.
 */
export const SprayForm = z
  .object({
    startedLocal: localDateTimeField('Start'),
    endedLocal: optionalLocalDateTimeField('End'),
    sprayerId: z
      .string()
      .optional()
      .transform((id) => (id ? id : null)),
    plotIds: listOf(idField).refine((ids) => ids.length > 0, 'Plots: expected at least one plot, got none'),
    items: rowsOf(
      z.object({
        productId: z.string().optional(),
        rate: z.object({ value: z.string().optional(), unit: z.string().optional() }).optional(),
      }),
    ).transform((rows, context) => {
      const items: SprayedItem[] = [];
      rows.forEach((row, index) => {
        if (!row.productId && !row.rate?.value) return;
        if (!row.productId) {
          context.addIssue({
            code: 'custom',
            path: [index, 'productId'],
            message: `Product ${index + 1}: expected a product from the shelf, got nothing`,
          });
          return;
        }
        if (row.rate?.unit?.startsWith('total:')) {
          const total = amountField(`Amount of product ${index + 1}`, totalUnits, { above: 0, max: 1e6 }).safeParse({
            value: row.rate.value,
            unit: row.rate.unit.slice('total:'.length),
          });
          if (total.success) items.push({ productId: row.productId, total: total.data });
          else
            context.addIssue({
              code: 'custom',
              path: [index, 'rate'],
              message:
                total.error.issues[0]?.message ?? `Amount of product ${index + 1}: expected a number with a unit`,
            });
          return;
        }
        if (row.rate?.unit?.startsWith('N:')) {
          const nitrogen = amountField(`Nitrogen of product ${index + 1}`, nitrogenUnits, {
            above: 0,
            max: 1e4,
          }).safeParse({ value: row.rate.value, unit: row.rate.unit.slice('N:'.length) });
          if (nitrogen.success) items.push({ productId: row.productId, nitrogen: nitrogen.data });
          else
            context.addIssue({
              code: 'custom',
              path: [index, 'rate'],
              message: nitrogen.error.issues[0]?.message ?? 'Nitrogen: expected a number with a unit',
            });
          return;
        }
        const rate = amountField(`Rate of product ${index + 1}`, RATE_UNITS, { above: 0, max: 1e6 }).safeParse(
          row.rate,
        );
        if (!rate.success) {
          context.addIssue({
            code: 'custom',
            path: [index, 'rate'],
            message: rate.error.issues[0]?.message ?? `Rate of product ${index + 1}: expected a number with a unit`,
          });
          return;
        }
        items.push({ productId: row.productId, rate: rate.data });
      });
      return items;
    }),
    carrier: carrierField('Carrier volume'),
    actualVolume: sprayedVolumeField('Volume sprayed'),
    leftover: leftoverField('Left in the tank'),
    measuredPh: optionalNumberField('pH of the mix', { min: 0, max: 14 }),
    airTemp: airTempField('Air temperature'),
    relHumidityPercent: optionalNumberField('Relative humidity', { min: 0, max: 100, unit: '%' }),
    wind: windField('Wind'),
    applicator: optionalTextField('Who sprayed', 120),
    note: optionalTextField('Note'),
  })
  .transform(({ carrier, actualVolume, leftover, airTemp, wind, ...rest }, context) => {
    if (rest.items.length === 0) {
      context.addIssue({
        code: 'custom',
        path: ['items'],
        message: 'Products: expected at least one product with its rate, got none',
      });
      return z.NEVER;
    }
    if (rest.endedLocal !== null && rest.endedLocal < rest.startedLocal) {
      context.addIssue({
        code: 'custom',
        path: ['endedLocal'],
        message: `End: expected a time after the start (${rest.startedLocal}), got ${rest.endedLocal}`,
      });
      return z.NEVER;
    }
    return {
      ...rest,
      carrierLPerHa: carrier?.canonical ?? null,
      carrierEnteredValue: carrier?.value ?? null,
      carrierEnteredUnit: carrier?.unit ?? null,
      actualVolumeL: actualVolume?.canonical ?? null,
      leftoverL: leftover?.canonical ?? null,
      airTempC: airTemp?.canonical ?? null,
      windMPerS: wind?.canonical ?? null,
    };
  });

export type SprayEntry = z.output<typeof SprayForm>;
