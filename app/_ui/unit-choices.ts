import { unitLabel, type UnitSystem } from '@/lib/units/display';
import type { Choice } from './field';

/** The units offered where a person types an amount: the usual ones of their own system first, the other's after. */
// prettier-ignore
const usual = {
  area: { 'us-customary': ['ft2', '1000ft2', 'acre', 'yd2'], metric: ['m2', 'ha'] },
  length: { 'us-customary': ['ft', 'in'], metric: ['m', 'cm'] },
  mowing: { 'us-customary': ['in'], metric: ['mm', 'cm'] },
  water: { 'us-customary': ['in'], metric: ['mm'] },
  tank: { 'us-customary': ['us-gal', 'us-fl-oz', 'us-qt'], metric: ['L', 'mL'] },
  speed: { 'us-customary': ['mph', 'ft/min'], metric: ['km/h', 'm/s'] },
  flow: { 'us-customary': ['us-gal/min', 'us-fl-oz/min'], metric: ['L/min', 'mL/min'] },
  pressure: { 'us-customary': ['psi'], metric: ['bar', 'kPa'] },
  temperature: { 'us-customary': ['degF'], metric: ['degC'] },
  carrier: { 'us-customary': ['us-gal/1000ft2', 'us-gal/acre', 'us-fl-oz/1000ft2'], metric: ['L/100m2', 'L/ha', 'mL/m2'] },
  density: { 'us-customary': ['lb/us-gal', 'specific-gravity'], metric: ['kg/L', 'g/mL'] },
  alkalinity: { 'us-customary': ['mg/L CaCO3', 'grain/us-gal'], metric: ['mg/L HCO3', 'meq/L', 'german-degree', 'french-degree'] },
  liquidRate: {
    'us-customary': ['us-fl-oz/1000ft2', 'us-tbsp/1000ft2', 'us-tsp/1000ft2', 'us-fl-oz/acre', 'us-pt/acre', 'us-qt/acre', 'us-gal/acre', 'us-fl-oz/us-gal', 'us-tbsp/us-gal', 'us-tsp/us-gal', 'us-pt/100us-gal', '% v/v'],
    metric: ['mL/100m2', 'mL/m2', 'L/ha', 'mL/L', 'mL/100L', '% v/v'],
  },
  dryRate: {
    'us-customary': ['oz/1000ft2', 'lb/1000ft2', 'oz/acre', 'lb/acre', 'oz/us-gal', 'oz/100us-gal', 'lb/100us-gal'],
    metric: ['g/m2', 'g/100m2', 'kg/ha', 'g/L', 'g/100L'],
  },
  pack: { 'us-customary': ['lb', 'oz', 'us-gal', 'us-qt', 'us-fl-oz'], metric: ['kg', 'g', 'L', 'mL'] },
} as const satisfies Record<string, Record<UnitSystem, readonly string[]>>;

export type UnitPurpose = keyof typeof usual;

export function unitChoices(purpose: UnitPurpose, system: UnitSystem): Choice[] {
  const lists: Record<UnitSystem, readonly string[]> = usual[purpose];
  const other: UnitSystem = system === 'metric' ? 'us-customary' : 'metric';
  return [...new Set([...lists[system], ...lists[other]])].map((unit) => ({
    value: unit,
    label: choiceLabel(unit, system),
  }));
}

/** An ounce of weight says so wherever it is picked: beside it in the list stands the fluid ounce. */
const choiceLabel = (unit: string, system: UnitSystem): string =>
  unitLabel(unit, system).replace(/^oz(?=\/|$)/, 'oz by weight');

/** Amounts of a product for the whole of a spray, as `total:us-fl-oz`: what went into the tank, whatever the area. */
export function totalChoices(form: 'liquid' | 'dry', system: UnitSystem): Choice[] {
  const units =
    form === 'liquid'
      ? { 'us-customary': ['us-fl-oz', 'us-tbsp', 'us-tsp', 'us-pt', 'us-gal'], metric: ['mL', 'L'] }[system]
      : { 'us-customary': ['oz', 'lb'], metric: ['g', 'kg'] }[system];
  return units.map((unit) => ({ value: `total:${unit}`, label: `${choiceLabel(unit, system)} in all` }));
}
