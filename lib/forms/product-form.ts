import { z } from 'zod';
import { DENSITY_UNITS, toKgPerL } from '@/lib/units/density';
import {
  isDryAreaRate,
  isDryTankRate,
  isLiquidAreaRate,
  LIQUID_AREA_RATE_UNITS,
  RATE_UNITS,
  toKgPerHa,
  toLPerHa,
  type Rate,
  type RateUnit,
} from '@/lib/units/rate';
import { MASS_UNITS } from '@/lib/units/mass';
import { VOLUME_UNITS } from '@/lib/units/volume';
import { SHELF_ROLES } from '@/lib/spray/application';
import { compositionFault } from '@/lib/spray/composition';
import { MIXING_KINDS } from '@/lib/spray/mixing-order';
import { analysisFault, type GuaranteedAnalysis } from '@/lib/spray/nutrients';
import { airTempField } from './measures';
import { choiceField, optionalAmountField, optionalNumberField, optionalTextField, rowsOf, textField } from './fields';

const rateUnits = RATE_UNITS;
const packUnits = [...VOLUME_UNITS, ...MASS_UNITS];
const percent = (label: string) =>
  optionalNumberField(label, { min: 0, max: 100, unit: '%' }).transform((value) => value ?? 0);

function areaRate(rate: { value: number; unit: RateUnit } | null): { kgPerHa: number | null; lPerHa: number | null } {
  if (rate === null) return { kgPerHa: null, lPerHa: null };
  const typed = rate as Rate;
  return {
    kgPerHa: isDryAreaRate(typed) ? toKgPerHa(typed) : null,
    lPerHa: isLiquidAreaRate(typed) ? toLPerHa(typed) : null,
  };
}

type PrintedAnalysis = Readonly<
  Record<
    | 'nAmmoniacalPercent'
    | 'nNitratePercent'
    | 'nUreaPercent'
    | 'nOtherPercent'
    | 'p2o5Percent'
    | 'k2oPercent'
    | 'sPercent'
    | 'fePercent'
    | 'mnPercent'
    | 'mgPercent'
    | 'znPercent'
    | 'caPercent',
    number
  >
>;

/** The columns of a product as the guaranteed analysis that the science reads. */
export function analysisOf(printed: PrintedAnalysis): GuaranteedAnalysis {
  // prettier-ignore
  return {
    ammoniacalNPercent: printed.nAmmoniacalPercent, nitrateNPercent: printed.nNitratePercent, ureaNPercent: printed.nUreaPercent, otherWaterSolubleNPercent: printed.nOtherPercent,
    p2o5Percent: printed.p2o5Percent, k2oPercent: printed.k2oPercent, sPercent: printed.sPercent, fePercent: printed.fePercent,
    mnPercent: printed.mnPercent, mgPercent: printed.mgPercent, znPercent: printed.znPercent, caPercent: printed.caPercent,
  };
}

/**
 * The analysis with the three numbers of the bag in it: nitrogen of a form nobody said, phosphate and potash.
 * @returns a sentence where they are no three numbers, or differ from what was typed by more than rounding
 */
function withGrade<T extends PrintedAnalysis>(typed: T, grade: string): T | string {
  if (grade.trim() === '') return typed;
  const found = /^(\d{1,2}(?:[.,]\d+)?)\s*[-–:/ ]\s*(\d{1,2}(?:[.,]\d+)?)\s*[-–:/ ]\s*(\d{1,2}(?:[.,]\d+)?)$/.exec(
    grade.trim(),
  );
  if (!found)
    return `Three numbers on the bag: expected nitrogen, phosphate and potash such as 12-4-8, got '${grade.trim()}'`;
  const [n = 0, p = 0, k = 0] = found.slice(1).map((text) => Number(text.replace(',', '.')));
  const forms = typed.nAmmoniacalPercent + typed.nNitratePercent + typed.nUreaPercent + typed.nOtherPercent;
  const differs = (
    [
      [n, forms, 'nitrogen'],
      [p, typed.p2o5Percent, 'phosphate'],
      [k, typed.k2oPercent, 'potash'],
    ] as const
  ).find(([ofBag, below]) => below > 0 && Math.abs(ofBag - below) > 0.6);
  if (differs)
    return `Three numbers on the bag: expected the ${differs[2]} that the parts below add up to, ${differs[1]} %, got ${differs[0]} %`;
  return {
    ...typed,
    nOtherPercent: forms === 0 ? n : typed.nOtherPercent,
    p2o5Percent: typed.p2o5Percent || p,
    k2oPercent: typed.k2oPercent || k,
  };
}

/** A product as its label prints it. */
export const ProductForm = z
  .object({
    name: textField('Name'),
    form: choiceField('Form', ['liquid', 'dry']),
    role: choiceField('What it is for', SHELF_ROLES),
    density: optionalAmountField('Density', DENSITY_UNITS, { above: 0, max: 30 }),
    grade: optionalTextField('Three numbers on the bag', 40),
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
    labelLeastCarrier: optionalAmountField('Least carrier volume', LIQUID_AREA_RATE_UNITS, { above: 0, max: 1e5 }),
    labelLowestTemp: airTempField('Lowest temperature'),
    labelHighestTemp: airTempField('Highest temperature'),
    labelRainfastHours: optionalNumberField('Dry for', { min: 0, max: 168, unit: 'hours' }),
    labelReEntryHours: optionalNumberField('Keep off for', { min: 0, max: 720, unit: 'hours' }),
    labelWatering: z
      .union([z.literal('').transform(() => null), choiceField('Watering after', ['water-in', 'keep-dry'])])
      .optional()
      .transform((choice) => choice ?? null),
    labelMowingWaitDays: optionalNumberField('No mowing for', { min: 0, max: 60, unit: 'days' }),
    minIntervalDays: optionalNumberField('Shortest interval', { min: 0, max: 366, unit: 'days' }),
    seasonCap: optionalAmountField('Season cap', rateUnits, { above: 0, max: 1e6 }),
    priceAmount: optionalNumberField('Price', { min: 0, max: 1e6 }),
    priceCurrency: optionalTextField('Currency', 8),
    pricePer: optionalAmountField('Price per', packUnits, { above: 0, max: 1e6 }),
    seasonMostApplications: optionalNumberField('Most applications a season', { min: 1, max: 365, whole: true }),
    mixingKind: z
      .union([z.literal('').transform(() => null), choiceField('Kind of product', MIXING_KINDS)])
      .optional()
      .transform((kind) => kind ?? null),
    registrationNumber: optionalTextField('Registration number', 60),
    composition: rowsOf(
      z.object({
        substance: optionalTextField('Substance', 80),
        percent: optionalNumberField('Share', { above: 0, max: 100, unit: '%' }),
      }),
    ).transform((rows, context) => {
      const parts: { species: string; massShare: number }[] = [];
      rows.forEach(({ substance, percent: share }, index) => {
        if (substance === '' && share === null) return;
        if (substance === '' || share === null) {
          const missing = substance === '' ? 'substance' : 'percent';
          context.addIssue({
            code: 'custom',
            path: [index, missing],
            message: `Composition: expected a substance and its share, got no ${missing === 'percent' ? 'share' : missing}`,
          });
          return;
        }
        parts.push({ species: substance, massShare: share / 100 });
      });
      return parts.length === 0 ? null : parts;
    }),
    cautions: optionalTextField('Cautions'),
    note: optionalTextField('Note'),
  })
  .transform(
    (
      {
        density,
        labelRate,
        labelMax,
        labelLeastCarrier,
        labelLowestTemp,
        labelHighestTemp,
        seasonCap,
        pricePer,
        priceCurrency,
        grade,
        ...typed
      },
      context,
    ) => {
      const graded = withGrade(typed, grade);
      if (typeof graded === 'string') context.addIssue({ code: 'custom', path: ['grade'], message: graded });
      const rest = typeof graded === 'string' ? typed : graded;
      const wrongAnalysis = analysisFault(analysisOf(rest));
      if (wrongAnalysis)
        context.addIssue({ code: 'custom', path: ['nAmmoniacalPercent'], message: wrongAnalysis.sentence });
      const wrongComposition =
        rest.composition === null
          ? null
          : compositionFault(rest.composition.map(({ species, massShare }) => ({ substance: species, massShare })));
      if (wrongComposition)
        context.addIssue({ code: 'custom', path: ['composition', 0, 'percent'], message: wrongComposition.sentence });
      const byWeight = [labelRate, labelMax, seasonCap].some(
        (rate) => rate !== null && (isDryAreaRate(rate as Rate) || isDryTankRate(rate as Rate)),
      );
      if (rest.form === 'liquid' && density === null && byWeight) {
        context.addIssue({
          code: 'custom',
          path: ['density'],
          message: 'Density: expected one, since the label gives a weight and the product is a liquid, got nothing',
        });
      }
      if (labelLowestTemp && labelHighestTemp && labelLowestTemp.canonical >= labelHighestTemp.canonical) {
        context.addIssue({
          code: 'custom',
          path: ['labelHighestTemp'],
          message: 'Highest temperature: expected one above the lowest, got one that is not',
        });
      }
      if (rest.labelWatering === 'water-in' && (rest.labelRainfastHours ?? 0) > 0) {
        context.addIssue({
          code: 'custom',
          path: ['labelRainfastHours'],
          message: 'Dry for: expected nothing for a product that is watered in, got hours',
        });
      }
      if ((rest.priceAmount === null) !== (pricePer === null)) {
        const missing = pricePer === null ? 'pricePer' : 'priceAmount';
        context.addIssue({
          code: 'custom',
          path: [missing],
          message: `Price: expected a price and the pack it buys, got no ${pricePer === null ? 'pack' : 'price'}`,
        });
      }
      if (rest.form === 'dry' && labelRate && isLiquidAreaRate(labelRate as Rate)) {
        context.addIssue({
          code: 'custom',
          path: ['labelRate'],
          message: `Label rate: expected a weight for a dry product, got ${labelRate.unit}`,
        });
      }
      const max = areaRate(labelMax);
      const cap = areaRate(seasonCap);
      return {
        ...rest,
        densityKgPerL: density ? toKgPerL(density) : null,
        labelRateEnteredValue: labelRate?.value ?? null,
        labelRateEnteredUnit: labelRate?.unit ?? null,
        labelMaxRateKgPerHa: max.kgPerHa,
        labelMaxRateLPerHa: max.lPerHa,
        labelMaxEnteredValue: labelMax?.value ?? null,
        labelMaxEnteredUnit: labelMax?.unit ?? null,
        labelLeastCarrierLPerHa: labelLeastCarrier ? toLPerHa(labelLeastCarrier) : null,
        labelLeastCarrierEnteredValue: labelLeastCarrier?.value ?? null,
        labelLeastCarrierEnteredUnit: labelLeastCarrier?.unit ?? null,
        labelLowestTempC: labelLowestTemp?.canonical ?? null,
        labelLowestTempEnteredValue: labelLowestTemp?.value ?? null,
        labelLowestTempEnteredUnit: labelLowestTemp?.unit ?? null,
        labelHighestTempC: labelHighestTemp?.canonical ?? null,
        labelHighestTempEnteredValue: labelHighestTemp?.value ?? null,
        labelHighestTempEnteredUnit: labelHighestTemp?.unit ?? null,
        seasonCapKgPerHa: cap.kgPerHa,
        seasonCapLPerHa: cap.lPerHa,
        seasonCapEnteredValue: seasonCap?.value ?? null,
        seasonCapEnteredUnit: seasonCap?.unit ?? null,
        priceCurrency: priceCurrency === '' ? null : priceCurrency,
        pricePerEnteredValue: pricePer?.value ?? null,
        pricePerEnteredUnit: pricePer?.unit ?? null,
      };
    },
  );
