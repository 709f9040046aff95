import type { ProductAmount } from '@/lib/spray/product-rate';
import { showMass, showVolume, significant, type UnitSystem } from '@/lib/units/display';
import { measurableMass, measurableVolume } from '@/lib/units/measurable';

/** One amount as a person measures it: on a scale, or in a jug or spoon. */
export interface MeasuredOut {
  /** To the step of the tool: '113 g', '2 cup + 1 tbsp'. */
  readonly text: string;
  /** The figure behind it, to three digits. */
  readonly exact: string;
  /** The other way to measure it, where a density allows one; empty otherwise. */
  readonly other: string;
  /** Advice when the tool can't measure so little within 5 %; empty otherwise. */
  readonly advice: string;
}

/** Product dissolved per litre of a stock solution, g: enough for a kitchen scale, little enough to dissolve. */
const STOCK_G_PER_L = 20;

/**
 * A product's amount in measurable steps. A dry product is weighed, and gets a spoon measure only with a bulk density; a
 * liquid is measured by volume, or weighed when only its weight is known.
 */
export function measuredOut(amount: ProductAmount, form: 'liquid' | 'dry', system: UnitSystem): MeasuredOut {
  const { massKg, volumeL } = amount;
  if (form === 'liquid' && volumeL !== null) {
    const jug = measurableVolume(volumeL, system);
    return {
      text: jug.text, exact: showVolume(volumeL, system).text, other: massKg === null ? '' : measurableMass(massKg, system).text,
      advice: jug.closeEnough || volumeL === 0 ? '' : `Too little for a spoon: mix 1 part with 9 parts of water and measure ${significant(volumeL * 10_000, 3)} mL of that.`,
    };
  }
  if (massKg === null) {
    return volumeL === null
      ? { text: 'unknown', exact: 'unknown', other: '', advice: 'Give the density of the product on the shelf.' }
      : { text: measurableVolume(volumeL, system).text, exact: showVolume(volumeL, system).text, other: '', advice: '' };
  }
  const scale = measurableMass(massKg, system);
  return {
    text: scale.text, exact: showMass(massKg, system).text, other: volumeL === null ? '' : measurableVolume(volumeL, system).text,
    advice: scale.closeEnough || massKg === 0 ? '' : `Too little for a kitchen scale: dissolve ${STOCK_G_PER_L} g in water to make 1 L and measure ${significant((massKg * 1e6) / STOCK_G_PER_L, 3)} mL of that.`,
  };
}
