import { expectInRange, expectPositive } from '@/lib/expect';
import { SUBSTANCES, type SubstanceName } from './substances';

/** An acid as it is bought: the substance, its share by mass, and for a liquid its density. */
export interface AcidProduct {
  readonly name: string;
  readonly substance: SubstanceName;
  /** Above 0, up to 1: 0.75 for 75 % phosphoric acid. */
  readonly massShare: number;
  /** kg/L. Of a liquid; of a dry product its bulk density, which alone allows a spoon measure. */
  readonly densityKgPerL?: number | undefined;
  readonly form: 'liquid' | 'dry';
}

/**
 * The acids a person can choose from. Densities at 20 °C; sulfuric 1.26 and citric 50 % 1.24 are the ones the PT
 * horticulture table implies.
 */
// prettier-ignore
export const ACIDS = {
  'citric acid, anhydrous': { name: 'citric acid, anhydrous', substance: 'citric acid', massShare: 1, form: 'dry' },
  'citric acid, monohydrate': { name: 'citric acid, monohydrate', substance: 'citric acid monohydrate', massShare: 1, form: 'dry' },
  'citric acid 50 %': { name: 'citric acid 50 %', substance: 'citric acid', massShare: 0.5, densityKgPerL: 1.24, form: 'liquid' },
  'phosphoric acid 75 %': { name: 'phosphoric acid 75 %', substance: 'phosphoric acid', massShare: 0.75, densityKgPerL: 1.58, form: 'liquid' },
  'phosphoric acid 85 %': { name: 'phosphoric acid 85 %', substance: 'phosphoric acid', massShare: 0.85, densityKgPerL: 1.685, form: 'liquid' },
  'sulfuric acid 35 %': { name: 'sulfuric acid 35 %', substance: 'sulfuric acid', massShare: 0.35, densityKgPerL: 1.26, form: 'liquid' },
  'sulfuric acid 93 %': { name: 'sulfuric acid 93 %', substance: 'sulfuric acid', massShare: 0.93, densityKgPerL: 1.835, form: 'liquid' },
  'nitric acid 67 %': { name: 'nitric acid 67 %', substance: 'nitric acid', massShare: 0.67, densityKgPerL: 1.4, form: 'liquid' },
  'acetic acid 5 % (household vinegar)': { name: 'acetic acid 5 % (household vinegar)', substance: 'acetic acid', massShare: 0.05, densityKgPerL: 1.006, form: 'liquid' },
} as const satisfies Record<string, AcidProduct>;
/** Moles of the acid in a gram of the product. @throws RangeError for a mass share outside 0 to 1 */
export function acidMolPerG(acid: AcidProduct): number {
  return (
    expectPositive('acid mass share', expectInRange('acid mass share', acid.massShare, 0, 1, ''), '') /
    SUBSTANCES[acid.substance].molarMassGPerMol
  );
}

/** Moles of the acid in a millilitre of the product, or null without a density. */
function acidMolPerML(acid: AcidProduct): number | null {
  return acid.densityKgPerL === undefined
    ? null
    : acidMolPerG(acid) * expectPositive('acid density', acid.densityKgPerL, 'kg/L');
}

/** A plain amount of an acid product: always its weight; its volume only where a density is given. */
export interface AcidAmount {
  readonly massKg: number;
  readonly volumeL: number | null;
}

/** So many moles as an amount of the product. */
export function acidAmount(acid: AcidProduct, mol: number): AcidAmount {
  const perML = acidMolPerML(acid);
  return { massKg: mol / acidMolPerG(acid) / 1000, volumeL: perML === null ? null : mol / perML / 1000 };
}
