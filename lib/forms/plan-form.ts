import { z } from 'zod';
import { readTypedPlan, type TypedPlan } from '@/lib/plan/typed-plan';
import { MASS_UNITS, toKg, type MassUnit } from '@/lib/units/mass';
import { toL, VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';
import {
  listOf,
  localDateTimeField,
  optionalAmountField,
  optionalLocalDateTimeField,
  optionalNumberField,
  optionalTextField,
  rowsOf,
  tickField,
} from './fields';
import { airTempField, leftoverField, sprayedVolumeField, windField } from './measures';

const text = z.string().max(5000, 'Expected at most 5000 characters').optional().default('');
const amount = z.object({ value: text, unit: text }).optional().default({ value: '', unit: '' });

const MOST_ITEMS = 30;

/**
 * A plan's form as text, kept as typed, with its reading in canonical units. Sentences for what is off come from the
 * reader the page uses too.
 */
export const PlanForm = z
  .object({
    startedLocal: text,
    plotIds: listOf(z.string().max(60)),
    sprayerId: text,
    carrier: amount,
    tank: amount,
    headroomPercent: text,
    reservePercent: text,
    evenLoads: tickField,
    items: rowsOf(z.object({ productId: text, by: text, rate: amount, nutrient: amount, basis: text })).refine(
      (rows) => rows.length <= MOST_ITEMS,
      `Products: expected at most ${MOST_ITEMS}`,
    ),
    waterPh: text,
    waterAlkalinity: amount,
    waterHardness: amount,
    targetPh: text,
    acidAir: text,
    jarPh: text,
    airTemp: amount,
    relHumidityPercent: text,
    wind: amount,
    overLimitReason: text,
    note: text,
  })
  .transform((typed: TypedPlan, context) => {
    const { wish, faults } = readTypedPlan(typed);
    for (const fault of faults)
      context.addIssue({ code: 'custom', path: fault.field.split('.'), message: fault.sentence });
    return wish === null ? z.NEVER : { typed, wish };
  });
export type PlanEntry = z.output<typeof PlanForm>;

/** What really happened when a plan was sprayed. An amount left empty means as planned. */
export const DoneForm = z
  .object({
    startedLocal: localDateTimeField('Start'),
    endedLocal: optionalLocalDateTimeField('End'),
    items: rowsOf(
      z.object({
        itemId: z.string().max(60),
        actual: optionalAmountField('Amount used', [...MASS_UNITS, ...VOLUME_UNITS], { min: 0, max: 1e6 }),
      }),
    ),
    actualVolume: sprayedVolumeField('Volume sprayed'),
    leftover: leftoverField('Left in the tank'),
    measuredPh: optionalNumberField('pH of the mix', { min: 0, max: 14 }),
    airTemp: airTempField('Air temperature'),
    relHumidityPercent: optionalNumberField('Relative humidity', { min: 0, max: 100, unit: '%' }),
    wind: windField('Wind'),
    windFromDeg: optionalNumberField('Wind from', { min: 0, max: 360, unit: 'degrees' }),
    applicator: optionalTextField('Who sprayed', 120),
    applicatorLicence: optionalTextField('Licence number', 60),
    note: optionalTextField('Note'),
  })
  .transform(({ actualVolume, leftover, airTemp, wind, items, ...rest }, context) => {
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
      items: items.map(({ itemId, actual }) => ({ itemId, ...actualOf(actual) })),
      actualVolumeL: actualVolume?.canonical ?? null,
      leftoverL: leftover?.canonical ?? null,
      airTempC: airTemp?.canonical ?? null,
      windMPerS: wind?.canonical ?? null,
    };
  });
export type DoneEntry = z.output<typeof DoneForm>;

function actualOf(actual: { value: number; unit: MassUnit | VolumeUnit } | null): {
  massKg: number | null;
  volumeL: number | null;
  enteredValue: number | null;
  enteredUnit: string | null;
} {
  if (actual === null) return { massKg: null, volumeL: null, enteredValue: null, enteredUnit: null };
  const mass = MASS_UNITS.find((unit) => unit === actual.unit);
  const volume = VOLUME_UNITS.find((unit) => unit === actual.unit);
  return {
    massKg: mass === undefined ? null : toKg({ value: actual.value, unit: mass }),
    volumeL: volume === undefined ? null : toL({ value: actual.value, unit: volume }),
    enteredValue: actual.value,
    enteredUnit: actual.unit,
  };
}
