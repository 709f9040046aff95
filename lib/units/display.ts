import { expectFinite, expectWhole } from '@/lib/expect';
import type { Amount } from './amount';
import { type AlkalinityUnit, fromMgPerL } from './concentration';
import { fromM2, type AreaUnit } from './area';
import { fromLPerMin, type FlowUnit } from './flow';
import { fromM, type LengthUnit } from './length';
import { fromKg, MASS_UNITS, type MassUnit, toKg } from './mass';
import { fromKPa } from './pressure';
import {
  type DryAreaRateUnit,
  fromGPerL,
  fromKgPerHa,
  fromLPerHa,
  fromMlPerL,
  isDryAreaRate,
  isDryTankRate,
  isLiquidAreaRate,
  isLiquidTankRate,
  type LiquidAreaRateUnit,
  type Rate,
  toGPerL,
  toKgPerHa,
  toLPerHa,
  toMlPerL,
} from './rate';
import { fromMPerS, type SpeedUnit } from './speed';
import { fromC, fromDifferenceC, toC, type TemperatureUnit } from './temperature';
import { fromL, toL, VOLUME_UNITS, type VolumeUnit } from './volume';

/** Which units the reader thinks in. */
export type UnitSystem = 'us-customary' | 'metric';

/** A number ready to be shown: its value and unit, and the two as text. */
export interface Shown {
  readonly value: number;
  readonly unit: string;
  readonly text: string;
}

const LABELS: Readonly<Record<string, string>> = {
  '% v/v': '% v/v',
  m2: 'm²',
  '100m2': '100 m²',
  ft2: 'ft²',
  yd2: 'yd²',
  '1000ft2': '1000 ft²',
  'us-tsp': 'tsp',
  'us-tbsp': 'tbsp',
  'us-fl-oz': 'fl oz',
  'us-cup': 'cup',
  'us-pt': 'pt',
  'us-qt': 'qt',
  'us-gal': 'gal',
  '100us-gal': '100 gal',
  '100L': '100 L',
  'specific-gravity': 'specific gravity',
  degC: '°C',
  degF: '°F',
  'mg/L CaCO3': 'mg/L as CaCO₃',
  'mg/L HCO3': 'mg/L as HCO₃⁻',
  'german-degree': '°dH',
  'french-degree': '°fH',
  'grain/us-gal': 'grains/gal',
};

/**
 * How a unit is written for a reader; `us-fl-oz/1000ft2` becomes `fl oz/1000 ft²`. Every gallon and fluid ounce is US.
 */
export function unitLabel(unit: string, system?: UnitSystem): string {
  if (unit === 'mg/L CaCO3' && system === 'us-customary') return 'ppm as CaCO₃';
  const whole = LABELS[unit];
  if (whole !== undefined) return whole;
  return unit
    .split('/')
    .map((part) => LABELS[part] ?? part)
    .join('/');
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

/**
 * An amount as text.
 * Exported for the digits alone, without a choice of unit.
 * @throws RangeError as `significant`.
 */
export function show(amount: Amount<string>, figures = 3): Shown {
  const number = significant(amount.value, figures);
  return { value: amount.value, unit: amount.unit, text: `${number} ${unitLabel(amount.unit)}` };
}

/**
 * The first unit in which the amount reads as at least `atLeast` (to a millionth: 0.9999999 reads as 1), else the last
 * and smallest.
 */
function firstThatFits<U extends string>(
  give: (unit: U) => Amount<U>,
  units: readonly [U, ...U[]],
  atLeast = 1,
): Amount<U> {
  let last = give(units[0]);
  for (const unit of units) {
    last = give(unit);
    if (Math.abs(last.value) >= atLeast * (1 - 1e-6)) return last;
  }
  return last.value === 0 ? give(units[0]) : last;
}

const AREA: Record<UnitSystem, readonly [AreaUnit, ...AreaUnit[]]> = {
  'us-customary': ['acre', 'ft2'],
  metric: ['ha', 'm2'],
};
const LENGTH: Record<UnitSystem, readonly [LengthUnit, ...LengthUnit[]]> = {
  'us-customary': ['ft', 'in'],
  metric: ['m', 'cm', 'mm'],
};
const VOLUME: Record<UnitSystem, readonly [VolumeUnit, ...VolumeUnit[]]> = {
  'us-customary': ['us-gal', 'us-fl-oz'],
  metric: ['L', 'mL'],
};
const FLOW: Record<UnitSystem, readonly [FlowUnit, ...FlowUnit[]]> = {
  'us-customary': ['us-gal/min', 'us-fl-oz/min'],
  metric: ['L/min', 'mL/min'],
};
const MASS: Record<UnitSystem, readonly [MassUnit, ...MassUnit[]]> = {
  'us-customary': ['lb', 'oz'],
  metric: ['kg', 'g', 'mg'],
};

const LIQUID_RATE: Record<UnitSystem, readonly [LiquidAreaRateUnit, ...LiquidAreaRateUnit[]]> = {
  'us-customary': ['us-gal/1000ft2', 'us-fl-oz/1000ft2'],
  metric: ['L/100m2', 'mL/100m2'],
};
const US_DRY_RATE: readonly [DryAreaRateUnit, ...DryAreaRateUnit[]] = ['lb/1000ft2', 'oz/1000ft2'];

/** An area for the reader: acres or ft²; hectares or m². */
export function showArea(areaM2: number, system: UnitSystem, figures = 3): Shown {
  return show(
    firstThatFits((unit) => fromM2(areaM2, unit), AREA[system]),
    figures,
  );
}
/** A length for the reader: ft or in; m, cm or mm. */
export function showLength(lengthM: number, system: UnitSystem, figures = 3): Shown {
  return show(
    firstThatFits((unit) => fromM(lengthM, unit), LENGTH[system]),
    figures,
  );
}
/** A volume for the reader: gal or fl oz; L or mL. */
export function showVolume(volumeL: number, system: UnitSystem, figures = 3): Shown {
  return show(
    firstThatFits((unit) => fromL(volumeL, unit), VOLUME[system]),
    figures,
  );
}
/** A mass for the reader: lb or oz; kg, g or mg. */
export function showMass(massKg: number, system: UnitSystem, figures = 3): Shown {
  return show(
    firstThatFits((unit) => fromKg(massKg, unit), MASS[system]),
    figures,
  );
}
/** A rate by volume on an area: gal or fl oz per 1000 ft²; L or mL per 100 m². */
export function showLiquidRate(rateLPerHa: number, system: UnitSystem, figures = 3): Shown {
  return show(
    firstThatFits((unit) => fromLPerHa(rateLPerHa, unit), LIQUID_RATE[system]),
    figures,
  );
}
/** A rate by weight on an area: lb (or oz, below 0.1 lb) per 1000 ft²; kg/ha. */
export function showDryRate(rateKgPerHa: number, system: UnitSystem, figures = 3): Shown {
  if (system === 'metric') return show(fromKgPerHa(rateKgPerHa, 'kg/ha'), figures);
  return show(
    firstThatFits((unit) => fromKgPerHa(rateKgPerHa, unit), US_DRY_RATE, 0.1),
    figures,
  );
}
/**
 * A nutrient on an area, always on the trade's basis, so that numbers can be compared down a column: lb per 1000 ft² or
 * kg/ha.
 */
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
/** The flow of nozzles for the reader: gal/min or fl oz/min; L/min or mL/min. */
export function showFlow(flowLPerMin: number, system: UnitSystem): Shown {
  return show(firstThatFits((unit) => fromLPerMin(flowLPerMin, unit), FLOW[system]));
}
/** A speed for the reader: mph; km/h for walking and m/s for wind, as asked. */
export function showSpeed(speedMPerS: number, system: UnitSystem, metricUnit: SpeedUnit = 'm/s', figures = 2): Shown {
  return show(fromMPerS(speedMPerS, system === 'metric' ? metricUnit : 'mph'), figures);
}
/** What is dissolved in a mix: ounces of weight in a gallon; mg/L, or g/L from 1000 mg/L on. */
export function showConcentration(concentrationMgPerL: number, system: UnitSystem, figures = 3): Shown {
  if (system === 'us-customary') {
    const { value, unit } = fromMgPerL(concentrationMgPerL, 'oz/us-gal');
    return { value, unit, text: `${significant(value, figures)} oz/gal` };
  }
  return show(fromMgPerL(concentrationMgPerL, Math.abs(concentrationMgPerL) >= 1000 ? 'g/L' : 'mg/L'), figures);
}
/** An alkalinity or hardness as CaCO3: water reports say ppm in the US, and mg/L elsewhere. */
export function showAlkalinity(alkalinityMgPerLCaCO3: number, system: UnitSystem, figures = 3): Shown {
  const unit: AlkalinityUnit = 'mg/L CaCO3';
  return {
    value: alkalinityMgPerLCaCO3,
    unit,
    text: `${significant(alkalinityMgPerLCaCO3, figures)} ${unitLabel(unit, system)}`,
  };
}
/** Rain, watering or evaporation: inches to a hundredth; mm to a tenth. */
export function showWaterDepth(waterMm: number, system: UnitSystem): Shown {
  const { value, unit } = fromM(waterMm / 1000, system === 'metric' ? 'mm' : 'in');
  return { value, unit, text: `${withoutMinusNothing(value.toFixed(system === 'metric' ? 1 : 2))} ${unit}` };
}
/** The thickness of a film on a leaf: in or mm, to two figures. */
export function showFilm(filmMm: number, system: UnitSystem): Shown {
  return show(fromM(filmMm / 1000, system === 'metric' ? 'mm' : 'in'), 2);
}
/** A pressure of the air or in it: inches of mercury; kPa. To a hundredth. */
export function showAirPressure(pressureKPa: number, system: UnitSystem): Shown {
  const { value, unit } = fromKPa(pressureKPa, system === 'metric' ? 'kPa' : 'inHg');
  return { value, unit, text: `${withoutMinusNothing(value.toFixed(2))} ${unitLabel(unit)}` };
}
/** The height of grass: in or mm. */
export function showGrassHeight(heightM: number, system: UnitSystem): Shown {
  return show(fromM(heightM, system === 'metric' ? 'mm' : 'in'));
}

const CUSTOMARY = /(^|[/ ])(us-|100us-|ft|yd|in$|acre|1000ft2|oz|lb|mph|degF|psi|inHg|grain)/;
const EITHER = /^(% v\/v|% w\/v|specific-gravity|ppm|mg\/L CaCO3)$/;
/** Whether a reader of the system uses the unit; some belong to both. */
export function isOwnUnit(unit: string, system: UnitSystem): boolean {
  return EITHER.test(unit) || CUSTOMARY.test(unit) === (system === 'us-customary');
}

/**
 * What a person typed, as typed where the reader uses that unit, else in the reader's own: a label in the other units
 * stays readable.
 * @example showTyped({ value: 1, unit: 'us-gal/1000ft2' }, 'metric').text // '4.07 L/100 m²'
 */
export function showTyped(typed: Amount<string>, system: UnitSystem, figures = 6): Shown {
  if (!isOwnUnit(typed.unit, system)) return converted(typed, system, figures);
  return { ...show(typed, figures), text: `${significant(typed.value, figures)} ${unitLabel(typed.unit, system)}` };
}

/** What was typed, in a unit the reader uses: to begin a new entry with. The record keeps what was typed. */
export function inOwnUnit(typed: Amount<string>, system: UnitSystem): Amount<string> {
  if (isOwnUnit(typed.unit, system)) return typed;
  const { value, unit } = converted(typed, system, 6);
  return { value: Number(value.toPrecision(4)), unit };
}

function converted(typed: Amount<string>, system: UnitSystem, figures: number): Shown {
  const rate = typed as Rate;
  if (isLiquidAreaRate(rate)) return showLiquidRate(toLPerHa(rate), system);
  if (isDryAreaRate(rate)) return showDryRate(toKgPerHa(rate), system);
  if (isLiquidTankRate(rate)) return show(fromMlPerL(toMlPerL(rate), system === 'metric' ? 'mL/L' : 'us-fl-oz/us-gal'));
  if (isDryTankRate(rate)) return show(fromGPerL(toGPerL(rate), system === 'metric' ? 'g/L' : 'oz/us-gal'));
  if (typed.unit === 'degC' || typed.unit === 'degF')
    return showTemperature(toC(typed as Amount<TemperatureUnit>), system);
  if (VOLUME_UNITS.includes(typed.unit as VolumeUnit)) return showVolume(toL(typed as Amount<VolumeUnit>), system);
  if (MASS_UNITS.includes(typed.unit as MassUnit)) return showMass(toKg(typed as Amount<MassUnit>), system);
  return show(typed, figures);
}

/** Digits without a minus sign before nothing. */
function withoutMinusNothing(digits: string): string {
  return digits.replace(/^-(0(?:\.0+)?)$/, '$1');
}

/** A number to so many decimals, with a minus sign only where something is left to be negative. */
function trimmed(value: number, decimals: number): string {
  const text = value.toFixed(decimals).replace(/\.0+$/, '');
  return Number(text) === 0 ? '0' : text;
}
