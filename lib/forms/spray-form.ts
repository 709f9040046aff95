import { z } from 'zod';
import { LIQUID_AREA_RATE_UNITS, RATE_UNITS, toLPerHa, type LiquidAreaRateUnit, type RateUnit } from '@/lib/units/rate';
import { SPEED_UNITS, toMPerS, type SpeedUnit } from '@/lib/units/speed';
import { TEMPERATURE_UNITS, toC, type TemperatureUnit } from '@/lib/units/temperature';
import { toL, VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';
import {
  amountField,
  idField,
  listOf,
  localDateTimeField,
  optionalAmountField,
  optionalLocalDateTimeField,
  optionalNumberField,
  optionalTextField,
  rowsOf,
} from './fields';

const units = <T extends string>(list: readonly T[]) => list as unknown as readonly [T, ...T[]];

/** A spray that was done: when, where, what, how much. Times are local to the lawn and turned into instants by its time zone. */
export const SprayForm = z
  .object({
    startedLocal: localDateTimeField('Start'),
    endedLocal: optionalLocalDateTimeField('End'),
    sprayerId: z.string().optional().transform((id) => (id ? id : null)),
    plotIds: listOf(idField).refine((ids) => ids.length > 0, 'Plots: expected at least one plot, got none'),
    items: rowsOf(
      z.object({
        productId: z.string().optional(),
        rate: z.object({ value: z.string().optional(), unit: z.string().optional() }).optional(),
      }),
    ).transform((rows, context) => {
      const items: { productId: string; rate: { value: number; unit: RateUnit } }[] = [];
      rows.forEach((row, index) => {
        if (!row.productId && !row.rate?.value) return;
        if (!row.productId) {
          context.addIssue({ code: 'custom', path: [index, 'productId'], message: `Product ${index + 1}: expected a product from the shelf, got nothing` });
          return;
        }
        const rate = amountField('Rate', units<RateUnit>(RATE_UNITS), { above: 0, max: 1e6 }).safeParse(row.rate);
        if (!rate.success) {
          context.addIssue({ code: 'custom', path: [index, 'rate'], message: rate.error.issues[0]?.message ?? 'Rate: expected a number with a unit' });
          return;
        }
        items.push({ productId: row.productId, rate: rate.data });
      });
      return items;
    }),
    carrier: optionalAmountField('Carrier volume', units<LiquidAreaRateUnit>(LIQUID_AREA_RATE_UNITS), { above: 0, max: 100_000 }),
    actualVolume: optionalAmountField('Volume sprayed', units<VolumeUnit>(VOLUME_UNITS), { above: 0, max: 100_000 }),
    leftover: optionalAmountField('Left over', units<VolumeUnit>(VOLUME_UNITS), { min: 0, max: 100_000 }),
    measuredPh: optionalNumberField('pH of the mix', { min: 0, max: 14 }),
    airTemp: optionalAmountField('Air temperature', units<TemperatureUnit>(TEMPERATURE_UNITS), { min: -40, max: 140 }),
    relHumidityPercent: optionalNumberField('Relative humidity', { min: 0, max: 100, unit: '%' }),
    wind: optionalAmountField('Wind', units<SpeedUnit>(SPEED_UNITS), { min: 0, max: 300 }),
    applicator: optionalTextField('Who sprayed', 120),
    note: optionalTextField('Note'),
  })
  .transform(({ carrier, actualVolume, leftover, airTemp, wind, ...rest }, context) => {
    if (rest.items.length === 0) {
      context.addIssue({ code: 'custom', path: ['items'], message: 'Products: expected at least one product with its rate, got none' });
      return z.NEVER;
    }
    if (rest.endedLocal !== null && rest.endedLocal < rest.startedLocal) {
      context.addIssue({ code: 'custom', path: ['endedLocal'], message: `End: expected a time after the start (${rest.startedLocal}), got ${rest.endedLocal}` });
      return z.NEVER;
    }
    return {
      ...rest,
      carrierLPerHa: carrier ? toLPerHa(carrier) : null,
      carrierEnteredValue: carrier?.value ?? null,
      carrierEnteredUnit: carrier?.unit ?? null,
      actualVolumeL: actualVolume ? toL(actualVolume) : null,
      leftoverL: leftover ? toL(leftover) : null,
      airTempC: airTemp ? toC(airTemp) : null,
      windMPerS: wind ? toMPerS(wind) : null,
    };
  });

export type SprayEntry = z.output<typeof SprayForm>;
