import 'server-only';
import { createProducts, listProducts, type ProductInput } from '@/lib/diary/products';
import { GENERIC_MATERIALS, type GenericMaterial } from '@/lib/spray/generic-materials';

/** The stated purpose of a material as the shelf's list names it. */
function roleOf({ roles }: GenericMaterial): string {
  const [first = 'other'] = roles;
  if (first === 'humic') return 'biostimulant';
  return first === 'manganese' || first === 'magnesium' ? 'micronutrient' : first;
}

function asProduct(material: GenericMaterial): ProductInput {
  const { analysis } = material;
  return {
    name: material.name,
    generic: true,
    form: material.form,
    role: roleOf(material),
    mixingKind: material.mixingKind,
    registrationNumber: '',
    densityKgPerL: material.densityKgPerL,
    nAmmoniacalPercent: analysis.ammoniacalNPercent ?? 0,
    nNitratePercent: analysis.nitrateNPercent ?? 0,
    nUreaPercent: analysis.ureaNPercent ?? 0,
    nOtherPercent: analysis.otherWaterSolubleNPercent ?? 0,
    p2o5Percent: analysis.p2o5Percent ?? 0,
    k2oPercent: analysis.k2oPercent ?? 0,
    sPercent: analysis.sPercent ?? 0,
    fePercent: analysis.fePercent ?? 0,
    mnPercent: analysis.mnPercent ?? 0,
    mgPercent: analysis.mgPercent ?? 0,
    znPercent: analysis.znPercent ?? 0,
    caPercent: analysis.caPercent ?? 0,
    composition: material.composition?.map(({ substance, massShare }) => ({ species: substance, massShare })) ?? null,
    cautions: material.cautions.join('\n'),
    source: material.source,
    note: '',
  };
}

/**
 * Puts the generic materials on the shelf; one whose name is there already is left alone.
 * @returns how many were added
 */
export async function stockGenericMaterials(): Promise<number> {
  const there = new Set((await listProducts()).map((product) => product.name));
  const fresh = GENERIC_MATERIALS.filter((material) => !there.has(material.name));
  return fresh.length === 0 ? 0 : createProducts(fresh.map(asProduct));
}
