import type { ProductAmount } from '@/lib/spray/product-rate';
import { showMass, showVolume, significant, type UnitSystem } from '@/lib/units/display';
import { type MassUnit, toKg } from '@/lib/units/mass';
import type { VolumeUnit } from '@/lib/units/volume';
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

/** Product dissolved per litre of a stock solution, g: enough for a kitchen scale, little enough to dissolve. */
const STOCK_G_PER_L = 20;

/** Below 2 oz, 0.1 oz is too coarse a step. */
const GRAMS_BELOW_KG = toKg({ value: 2, unit: 'oz' });

/** Liquid in a litre of a first dilution, mL. */
const DILUTED_ML_PER_L = 100;

/**
 * A product's amount in measurable steps. A dry product is weighed, and gets a spoon measure only with a bulk density; a
 * liquid is measured by volume, or weighed when only its weight is known.
 */
export function measuredOut(amount: ProductAmount, form: 'liquid' | 'dry', system: UnitSystem): MeasuredOut {
  const { massKg, volumeL } = amount;
  if (form === 'liquid' && volumeL !== null) {
    const jug = measurableVolume(volumeL, system);
    const { text: exact, unit } = showVolume(volumeL, system);
    const other = massKg === null ? '' : measurableMass(massKg, system).text;
    if (jug.closeEnough || volumeL === 0) return { text: jug.text, exact, unit: unit as VolumeUnit, other, advice: '' };
    return { text: `${significant(volumeL * 1e6 / DILUTED_ML_PER_L, 2)} mL of it diluted`, exact, unit: unit as VolumeUnit, other: '', advice: `Too little to measure: mix ${DILUTED_ML_PER_L} mL into water to make 1 L, and measure from that.` };
  }
  if (massKg === null) {
    return volumeL === null
      ? { text: 'unknown', exact: 'unknown', unit: null, other: '', advice: 'Give the density of the product on the shelf.' }
      : { text: measurableVolume(volumeL, system).text, exact: showVolume(volumeL, system).text, unit: showVolume(volumeL, system).unit as VolumeUnit, other: '', advice: '' };
  }
  // A kitchen scale shows grams as well as ounces, and 1 g is the finer step: little amounts are weighed in grams by everyone.
  const inGrams = massKg < GRAMS_BELOW_KG ? 'metric' : system;
  const scale = measurableMass(massKg, inGrams);
  const { text: exact, unit: shown } = showMass(massKg, inGrams);
  const unit = shown as MassUnit;
  if (scale.closeEnough || massKg === 0) return { text: scale.text, exact, unit, other: volumeL === null ? '' : measurableVolume(volumeL, system).text, advice: '' };
  // A scale that shows 0 must not put "0 g" on a tank card: the measure is of a solution then.
  return { text: `${significant((massKg * 1e6) / STOCK_G_PER_L, 2)} mL of it dissolved`, exact, unit, other: '', advice: `Too little for a kitchen scale: dissolve ${STOCK_G_PER_L} g in water to make 1 L, and measure from that.` };
}
