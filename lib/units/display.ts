import { expectFinite, expectWhole } from '@/lib/expect';
import type { Amount } from './amount';
import { type AlkalinityUnit, type ConcentrationUnit } from './concentration';
import { fromM2, type AreaUnit } from './area';
import { fromM, type LengthUnit } from './length';
import { fromKg, type MassUnit } from './mass';
import { type DryAreaRateUnit, fromKgPerHa, fromLPerHa, type LiquidAreaRateUnit } from './rate';
import { fromMPerS, type SpeedUnit } from './speed';
import { fromC, fromDifferenceC, type TemperatureUnit } from './temperature';
import { fromL, type VolumeUnit } from './volume';

/** Which units the reader thinks in. */
export type UnitSystem = 'us-customary' | 'metric';

/** A number ready to be shown: its value and unit, and the two as text. */
export interface Shown {
  readonly value: number;
  readonly unit: string;
  readonly text: string;
}

const LABELS: Readonly<Record<string, string>> = {
  m2: 'm²', '100m2': '100 m²', ft2: 'ft²', yd2: 'yd²', '1000ft2': '1000 ft²',
  'us-tsp': 'tsp', 'us-tbsp': 'tbsp', 'us-fl-oz': 'fl oz', 'us-cup': 'cup', 'us-pt': 'pt', 'us-qt': 'qt', 'us-gal': 'gal',
  '100us-gal': '100 gal', '100L': '100 L', 'specific-gravity': 'specific gravity',
  degC: '°C', degF: '°F', 'mg/L CaCO3': 'mg/L as CaCO₃', 'mg/L HCO3': 'mg/L as HCO₃⁻',
  'german-degree': '°dH', 'french-degree': '°fH', 'grain/us-gal': 'grains/gal',
};

/** How a unit is written for a reader; `us-fl-oz/1000ft2` becomes `fl oz/1000 ft²`. Every gallon and fluid ounce is US. */
export function unitLabel(unit: string): string {
  const whole = LABELS[unit];
  if (whole !== undefined) return whole;
  return unit.split('/').map((part) => LABELS[part] ?? part).join('/');
}

/**
 * A number with so many significant figures, as plain digits (never `1e+3`), without trailing zeros after the point.
 * @param figures 1 to 15
 * @throws RangeError for a number that isn't finite
 * @example significant(0.0024691, 3) // '0.00247'
 */
export function significant(value: number, figures = 3): string {
  expectFinite('number to show', value);
  expectWhole('significant figures', figures, 1, 15);
  const rounded = Number(value.toPrecision(figures));
  if (rounded === 0) return '0';
  const decimals = Math.min(20, Math.max(0, figures - 1 - Math.floor(Math.log10(Math.abs(rounded)))));
  const digits = rounded.toFixed(decimals);
  return digits.includes('.') ? digits.replace(/\.?0+$/, '') : digits;
}

/** An amount as text. @throws RangeError as `significant`. */
export function show(amount: Amount<string>, figures = 3): Shown {
  const number = significant(amount.value, figures);
  return { value: amount.value, unit: amount.unit, text: `${number} ${unitLabel(amount.unit)}` };
}

/** The first unit in which the amount reads as at least `atLeast` (to a millionth: 0.9999999 reads as 1), else the last and smallest. */
function firstThatFits<U extends string>(give: (unit: U) => Amount<U>, units: readonly [U, ...U[]], atLeast = 1): Amount<U> {
  let last = give(units[0]);
  for (const unit of units) {
    last = give(unit);
    if (Math.abs(last.value) >= atLeast * (1 - 1e-6)) return last;
  }
  return last.value === 0 ? give(units[0]) : last;
}

const AREA: Record<UnitSystem, readonly [AreaUnit, ...AreaUnit[]]> = { 'us-customary': ['acre', 'ft2'], metric: ['ha', 'm2'] };
const LENGTH: Record<UnitSystem, readonly [LengthUnit, ...LengthUnit[]]> = { 'us-customary': ['ft', 'in'], metric: ['m', 'cm', 'mm'] };
const VOLUME: Record<UnitSystem, readonly [VolumeUnit, ...VolumeUnit[]]> = { 'us-customary': ['us-gal', 'us-fl-oz'], metric: ['L', 'mL'] };
const MASS: Record<UnitSystem, readonly [MassUnit, ...MassUnit[]]> = { 'us-customary': ['lb', 'oz'], metric: ['kg', 'g', 'mg'] };

const LIQUID_RATE: Record<UnitSystem, readonly [LiquidAreaRateUnit, ...LiquidAreaRateUnit[]]> = {
  'us-customary': ['us-gal/1000ft2', 'us-fl-oz/1000ft2'],
  metric: ['L/100m2', 'mL/100m2'],
};
const US_DRY_RATE: readonly [DryAreaRateUnit, ...DryAreaRateUnit[]] = ['lb/1000ft2', 'oz/1000ft2'];

/** An area for the reader: acres or ft²; hectares or m². */
export function showArea(areaM2: number, system: UnitSystem, figures = 3): Shown {
  return show(firstThatFits((unit) => fromM2(areaM2, unit), AREA[system]), figures);
}
/** A length for the reader: ft or in; m, cm or mm. */
export function showLength(lengthM: number, system: UnitSystem, figures = 3): Shown {
  return show(firstThatFits((unit) => fromM(lengthM, unit), LENGTH[system]), figures);
}
/** A volume for the reader: gal or fl oz; L or mL. */
export function showVolume(volumeL: number, system: UnitSystem, figures = 3): Shown {
  return show(firstThatFits((unit) => fromL(volumeL, unit), VOLUME[system]), figures);
}
/** A mass for the reader: lb or oz; kg, g or mg. */
export function showMass(massKg: number, system: UnitSystem, figures = 3): Shown {
  return show(firstThatFits((unit) => fromKg(massKg, unit), MASS[system]), figures);
}
/** A rate by volume on an area: gal or fl oz per 1000 ft²; L or mL per 100 m². */
export function showLiquidRate(rateLPerHa: number, system: UnitSystem, figures = 3): Shown {
  return show(firstThatFits((unit) => fromLPerHa(rateLPerHa, unit), LIQUID_RATE[system]), figures);
}
/** A rate by weight on an area: lb (or oz, below 0.1 lb) per 1000 ft²; kg/ha. */
export function showDryRate(rateKgPerHa: number, system: UnitSystem, figures = 3): Shown {
  if (system === 'metric') return show(fromKgPerHa(rateKgPerHa, 'kg/ha'), figures);
  return show(firstThatFits((unit) => fromKgPerHa(rateKgPerHa, unit), US_DRY_RATE, 0.1), figures);
}
/** A nutrient on an area, always on the trade's basis, so that numbers can be compared down a column: lb per 1000 ft² or kg/ha. */
export function showNutrientRate(rateKgPerHa: number, system: UnitSystem, figures = 3): Shown {
  return show(fromKgPerHa(rateKgPerHa, system === 'metric' ? 'kg/ha' : 'lb/1000ft2'), figures);
}
/** A temperature to 0.1 degree. */
export function showTemperature(temperatureC: number, system: UnitSystem): Shown {
  const unit: TemperatureUnit = system === 'metric' ? 'degC' : 'degF';
  const amount = fromC(temperatureC, unit);
  return { ...amount, text: `${trimmed(amount.value, 1)} ${unitLabel(unit)}` };
}
/** A difference of temperatures to 0.1 degree. */
export function showTemperatureDifference(differenceC: number, system: UnitSystem): Shown {
  const { value, unit } = fromDifferenceC(differenceC, system === 'metric' ? 'degC' : 'degF');
  return { value, unit, text: `${trimmed(value, 1)} ${unitLabel(unit)}` };
}
/** A speed for the reader: mph; km/h for walking and m/s for wind, as asked. */
export function showSpeed(speedMPerS: number, system: UnitSystem, metricUnit: SpeedUnit = 'm/s', figures = 2): Shown {
  return show(fromMPerS(speedMPerS, system === 'metric' ? metricUnit : 'mph'), figures);
}
/** A concentration: mg/L, or g/L from 1000 mg/L on. Both systems use it. */
export function showConcentration(concentrationMgPerL: number, figures = 3): Shown {
  const unit: ConcentrationUnit = Math.abs(concentrationMgPerL) >= 1000 ? 'g/L' : 'mg/L';
  return show({ value: unit === 'g/L' ? concentrationMgPerL / 1000 : concentrationMgPerL, unit }, figures);
}
/** An alkalinity or hardness, as CaCO3. Both systems use it. */
export function showAlkalinity(alkalinityMgPerLCaCO3: number, figures = 3): Shown {
  const unit: AlkalinityUnit = 'mg/L CaCO3';
  return show({ value: alkalinityMgPerLCaCO3, unit }, figures);
}

/** A number to so many decimals, with a minus sign only where something is left to be negative. */
function trimmed(value: number, decimals: number): string {
  const text = value.toFixed(decimals).replace(/\.0+$/, '');
  return Number(text) === 0 ? '0' : text;
}
