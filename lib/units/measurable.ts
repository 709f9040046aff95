import { expectNotNegative } from '@/lib/expect';
import { significant, unitLabel, type UnitSystem } from './display';
import { OUNCE_KG } from './exact';
import { toL, type VolumeUnit } from './volume';

/** What a person can really measure out, and how far that is from what was asked for. */
export interface Measurable {
  /** In words, as `2 cup + 1 tbsp` or `113 g`. `none` when the tool can't measure so little. */
  readonly text: string;
  /** What the words come to, in kg (mass) or L (volume). */
  readonly measured: number;
  /** (measured − asked) / asked; 0 when nothing was asked for. */
  readonly errorShare: number;
  /** True while the measure is within 5 % of what was asked for. */
  readonly closeEnough: boolean;
}

/** Within this share a measure counts as close enough: common practice, no source. */
const CLOSE_ENOUGH_SHARE = 0.05;

function judged(asked: number, measured: number, text: string): Measurable {
  const errorShare = asked === 0 ? 0 : (measured - asked) / asked;
  return { text, measured, errorShare, closeEnough: Math.abs(errorShare) <= CLOSE_ENOUGH_SHARE };
}

/**
 * A mass to the step of a kitchen scale: 1 g, or 0.1 oz with pounds and ounces for customary readers; below 2 oz, where
 * that is too coarse, to the 0.01 oz of a small one.
 * @param massKg 0 or more
 * @throws RangeError for a negative mass
 * @example measurableMass(0.1134, 'metric').text // '113 g'
 */
export function measurableMass(massKg: number, system: UnitSystem): Measurable {
  expectNotNegative('mass', massKg, 'kg');
  if (system === 'metric') {
    const grams = Math.round(massKg * 1000);
    return judged(massKg, grams / 1000, grams >= 1000 ? `${significant(grams / 1000, 15)} kg` : `${grams} g`);
  }
  if (massKg < 2 * OUNCE_KG) {
    const hundredths = Math.round((massKg / OUNCE_KG) * 100);
    return judged(massKg, (hundredths / 100) * OUNCE_KG, `${hundredths / 100} oz`);
  }
  const tenths = Math.round((massKg / OUNCE_KG) * 10);
  const pounds = Math.floor(tenths / 160);
  const ounces = (tenths - pounds * 160) / 10;
  const parts = [...(pounds > 0 ? [`${pounds} lb`] : []), ...(ounces > 0 || pounds === 0 ? [`${ounces} oz`] : [])];
  return judged(massKg, (tenths / 10) * OUNCE_KG, parts.join(' '));
}

const QUARTERS = ['', '¼', '½', '¾'] as const;

/** Customary kitchen measures, largest first, with the fraction each is sold in. */
const KITCHEN: readonly { readonly unit: VolumeUnit; readonly steps: number }[] = [
  { unit: 'us-gal', steps: 1 },
  { unit: 'us-cup', steps: 4 },
  { unit: 'us-tbsp', steps: 1 },
  { unit: 'us-tsp', steps: 4 },
];

/**
 * A volume in what is at hand: whole gallons, quarter cups, tablespoons and quarter teaspoons for customary readers;
 * for metric readers mL to the step a cylinder or jug of that size shows (0.5 mL below 20 mL, 1 to 100, 5 to 500, 10 to
 * 2000, then 50). The smaller measures after the first two are dropped once what is left is below 1 %.
 * @param volumeL 0 or more
 * @throws RangeError for a negative volume
 * @example measurableVolume(0.0443603, 'us-customary').text // '3 tbsp'
 */
export function measurableVolume(volumeL: number, system: UnitSystem): Measurable {
  expectNotNegative('volume', volumeL, 'L');
  if (system === 'metric') {
    const mL = volumeL * 1000;
    const step = mL < 20 ? 0.5 : mL < 100 ? 1 : mL < 500 ? 5 : mL < 2000 ? 10 : 50;
    const roundedML = Math.round(mL / step) * step;
    return judged(
      volumeL,
      roundedML / 1000,
      roundedML >= 1000 ? `${significant(roundedML / 1000, 15)} L` : `${roundedML} mL`,
    );
  }
  const parts: string[] = [];
  let measured = 0;
  for (const [place, { unit, steps }] of KITCHEN.entries()) {
    const stepL = toL({ value: 1, unit }) / steps;
    const left = volumeL - measured;
    if (parts.length > 0 && left <= volumeL * 0.01) break;
    const last = place === KITCHEN.length - 1;
    const count = last ? Math.round(left / stepL) : Math.floor(left / stepL + 1e-9);
    if (count === 0) continue;
    const whole = Math.floor(count / steps);
    const quarter = steps === 4 ? (QUARTERS[count % 4] ?? '') : '';
    parts.push(`${whole > 0 ? whole : ''}${whole > 0 && quarter !== '' ? ' ' : ''}${quarter} ${unitLabel(unit)}`);
    measured += count * stepL;
  }
  return judged(volumeL, measured, parts.length > 0 ? parts.join(' + ') : '0 tsp');
}
