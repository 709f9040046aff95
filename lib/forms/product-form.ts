import { z } from 'zod';
import { DENSITY_UNITS, toKgPerL, type DensityUnit } from '@/lib/units/density';
import {
  isDryAreaRate,
  isLiquidAreaRate,
  RATE_UNITS,
  toKgPerHa,
  toLPerHa,
  type Rate,
  type RateUnit,
} from '@/lib/units/rate';
import { MASS_UNITS } from '@/lib/units/mass';
import { VOLUME_UNITS } from '@/lib/units/volume';
import { choiceField, optionalAmountField, optionalNumberField, optionalTextField, textField } from './fields';

export const productRoles = ['nitrogen', 'iron', 'potassium', 'phosphorus', 'micronutrient', 'acidifier', 'surfactant', 'biostimulant', 'pigment', 'other'] as const;

const units = <T extends string>(list: readonly T[]) => list as unknown as readonly [T, ...T[]];
const rateUnits = units<RateUnit>(RATE_UNITS);
const packUnits = units<string>([...VOLUME_UNITS, ...MASS_UNITS]);
const percent = (label: string) => optionalNumberField(label, { min: 0, max: 100, unit: '%' }).transform((value) => value ?? 0);

function areaRate(rate: { value: number; unit: RateUnit } | null): { kgPerHa: number | null; lPerHa: number | null } {
  if (rate === null) return { kgPerHa: null, lPerHa: null };
  const typed = rate as Rate;
  return {
    kgPerHa: isDryAreaRate(typed) ? toKgPerHa(typed) : null,
    lPerHa: isLiquidAreaRate(typed) ? toLPerHa(typed) : null,
  };
}

/** A product as its label prints it. */
export const ProductForm = z
  .object({
    name: textField('Name'),
    form: choiceField('Form', ['liquid', 'dry']),
    role: choiceField('Role', productRoles),
    density: optionalAmountField('Density', units<DensityUnit>(DENSITY_UNITS), { above: 0, max: 30 }),
    nAmmoniacalPercent: percent('Ammoniacal nitrogen'),
    nNitratePercent: percent('Nitrate nitrogen'),
    nUreaPercent: percent('Urea nitrogen'),
    nOtherPercent: percent('Other nitrogen'),
    p2o5Percent: percent('Phosphate (P2O5)'),
    k2oPercent: percent('Potash (K2O)'),
    sPercent: percent('Sulfur'),
    fePercent: percent('Iron'),
    mnPercent: percent('Manganese'),
    mgPercent: percent('Magnesium'),
    znPercent: percent('Zinc'),
    caPercent: percent('Calcium'),
    labelRate: optionalAmountField('Label rate', rateUnits, { above: 0, max: 1e6 }),
    labelMax: optionalAmountField('Label maximum', rateUnits, { above: 0, max: 1e6 }),
    minIntervalDays: optionalNumberField('Shortest interval', { min: 0, max: 366, unit: 'days' }),
    seasonCap: optionalAmountField('Season cap', rateUnits, { above: 0, max: 1e6 }),
    priceAmount: optionalNumberField('Price', { min: 0, max: 1e6 }),
    priceCurrency: optionalTextField('Currency', 8),
    pricePer: optionalAmountField('Price per', packUnits, { above: 0, max: 1e6 }),
    cautions: optionalTextField('Cautions'),
    note: optionalTextField('Note'),
  })
  .transform(({ density, labelRate, labelMax, seasonCap, pricePer, priceCurrency, ...rest }, context) => {
    const analysisSum =
      rest.nAmmoniacalPercent + rest.nNitratePercent + rest.nUreaPercent + rest.nOtherPercent + rest.p2o5Percent + rest.k2oPercent +
      rest.sPercent + rest.fePercent + rest.mnPercent + rest.mgPercent + rest.znPercent + rest.caPercent;
    if (analysisSum > 115) {
      context.addIssue({ code: 'custom', path: ['nAmmoniacalPercent'], message: `Analysis: expected shares that add up to at most about 100 %, got ${analysisSum.toFixed(1)} %` });
    }
    if (rest.form === 'dry' && labelRate && isLiquidAreaRate(labelRate as Rate)) {
      context.addIssue({ code: 'custom', path: ['labelRate'], message: `Label rate: expected a weight for a dry product, got ${labelRate.unit}` });
    }
    const max = areaRate(labelMax);
    const cap = areaRate(seasonCap);
    return {
      ...rest,
      generic: false,
      source: '',
      composition: null,
      densityKgPerL: density ? toKgPerL(density) : null,
      labelRateEnteredValue: labelRate?.value ?? null,
      labelRateEnteredUnit: labelRate?.unit ?? null,
      labelMaxRateKgPerHa: max.kgPerHa,
      labelMaxRateLPerHa: max.lPerHa,
      labelMaxEnteredValue: labelMax?.value ?? null,
      labelMaxEnteredUnit: labelMax?.unit ?? null,
      seasonCapKgPerHa: cap.kgPerHa,
      seasonCapLPerHa: cap.lPerHa,
      seasonCapEnteredValue: seasonCap?.value ?? null,
      seasonCapEnteredUnit: seasonCap?.unit ?? null,
      priceCurrency: priceCurrency === '' ? null : priceCurrency,
      pricePerEnteredValue: pricePer?.value ?? null,
      pricePerEnteredUnit: pricePer?.unit ?? null,
    };
  });
