import type { ProductAmount } from '@/lib/spray/product-rate';
import { showMass, showVolume, significant, type UnitSystem } from '@/lib/units/display';
import { type MassUnit, toKg } from '@/lib/units/mass';
import { fromL, toL, type VolumeUnit } from '@/lib/units/volume';
import { measurableMass, measurableVolume } from '@/lib/units/measurable';

/** One amount as a person measures it: on a scale, or in a jug or spoon. */
export interface MeasuredOut {
  /** To the step of the tool: '113 g', '2 cup + 1 tbsp'. */
  readonly text: string;
  /** The figure behind it, to three digits. */
  readonly exact: string;
  /** The unit of `exact`, in which an amount that differs is typed; null where nothing is known. */
  readonly unit: MassUnit | VolumeUnit | null;
  /** The other way to measure it, where a density allows one; empty otherwise. */
  readonly other: string;
  /** Advice when the tool can't measure so little within 5 %; empty otherwise. */
  readonly advice: string;
}

/**
 * A first solution or dilution to measure from, where the product alone is too little to: enough for a scale or a jug,
 * little enough to dissolve.
 */
const STOCK = {
  metric: {
    kgPerL: 0.02,
    made: 'dissolve 20 g in water to make 1 L',
    share: 0.1,
    mixed: 'mix 100 mL into water to make 1 L',
  },
  'us-customary': {
    kgPerL: toKg({ value: 1, unit: 'oz' }) / toL({ value: 1, unit: 'us-qt' }),
    made: 'dissolve 1 oz by weight in water to make 1 qt',
    share: 0.1,
    mixed: 'mix 1 fl oz into water to make 10 fl oz',
  },
} as const;

/** What is taken of a stock: mL to two figures, or spoons, in parts of a teaspoon where quarters are too coarse. */
function ofStock(volumeL: number, system: UnitSystem): string {
  if (system === 'metric') return `${significant(volumeL * 1000, 2)} mL`;
  const spoons = measurableVolume(volumeL, system);
  return spoons.closeEnough ? spoons.text : `${significant(fromL(volumeL, 'us-tsp').value, 2)} tsp`;
}

/** A weight as the scale shows it; an ounce says that it is one of weight, since fluid ounces stand beside it. */
const weighed = (text: string): string => text.replace(/^([\d.]+ oz)$/, '$1 by weight');

/**
 * A product's amount in measurable steps. A dry product is weighed, and gets a spoon measure only with a bulk density;
 * a liquid is measured by volume, or weighed when only its weight is known.
 */
export function measuredOut(amount: ProductAmount, form: 'liquid' | 'dry', system: UnitSystem): MeasuredOut {
  const { massKg, volumeL } = amount;
  if (form === 'liquid' && volumeL !== null) {
    const jug = measurableVolume(volumeL, system);
    const { text: exact, unit } = showVolume(volumeL, system);
    const other = massKg === null ? '' : weighed(measurableMass(massKg, system).text);
    if (jug.closeEnough || volumeL === 0) return { text: jug.text, exact, unit: unit as VolumeUnit, other, advice: '' };
    return {
      text: `${ofStock(volumeL / STOCK[system].share, system)} of it diluted`,
      exact,
      unit: unit as VolumeUnit,
      other: '',
      advice: `Too little to measure: ${STOCK[system].mixed}, and measure from that.`,
    };
  }
  if (massKg === null) {
    return volumeL === null
      ? {
          text: 'unknown',
          exact: 'unknown',
          unit: null,
          other: '',
          advice: 'Give the density of the product on the shelf.',
        }
      : {
          text: measurableVolume(volumeL, system).text,
          exact: showVolume(volumeL, system).text,
          unit: showVolume(volumeL, system).unit as VolumeUnit,
          other: '',
          advice: '',
        };
  }
  const scale = measurableMass(massKg, system);
  const { text: exact, unit: shown } = showMass(massKg, system);
  const unit = shown as MassUnit;
  if (scale.closeEnough || massKg === 0)
    return {
      text: weighed(scale.text),
      exact,
      unit,
      other: volumeL === null ? '' : measurableVolume(volumeL, system).text,
      advice: '',
    };
  // A scale that shows 0 must not put "0 g" on a tank card: the measure is of a solution then.
  return {
    text: `${ofStock(massKg / STOCK[system].kgPerL, system)} of it dissolved`,
    exact,
    unit,
    other: '',
    advice: `Too little for a scale: ${STOCK[system].made}, and measure from that.`,
  };
}
