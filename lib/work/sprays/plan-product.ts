import 'server-only';
import type { Product } from '@/lib/diary/products';
import { analysisOf } from '@/lib/forms/product-form';
import type { PlanProduct } from '@/lib/plan/plan-product';
import type { Pack } from '@/lib/spray/cost';
import { ROLES, type Role } from '@/lib/spray/application';
import { MIXING_KINDS, type MixingKind } from '@/lib/spray/mixing-order';
import { rolesOf } from '@/lib/spray/product-roles';
import { MASS_UNITS, toKg, type MassUnit } from '@/lib/units/mass';
import { RATE_UNITS, type Rate } from '@/lib/units/rate';
import { toL, VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';

function rateOf(value: number | null, unit: string | null): Rate | null {
  return value !== null && (RATE_UNITS as readonly string[]).includes(unit ?? '') ? ({ value, unit } as Rate) : null;
}

/** A pack as it is bought; null without a price or a size. */
export function packOf({
  priceAmount,
  pricePerEnteredValue,
  pricePerEnteredUnit,
}: Pick<Product, 'priceAmount' | 'pricePerEnteredValue' | 'pricePerEnteredUnit'>): Pack | null {
  if (priceAmount === null || pricePerEnteredValue === null || pricePerEnteredUnit === null) return null;
  const mass = MASS_UNITS.find((unit): unit is MassUnit => unit === pricePerEnteredUnit);
  if (mass !== undefined) return { price: priceAmount, massKg: toKg({ value: pricePerEnteredValue, unit: mass }) };
  const volume = VOLUME_UNITS.find((unit): unit is VolumeUnit => unit === pricePerEnteredUnit);
  return volume === undefined
    ? null
    : { price: priceAmount, volumeL: toL({ value: pricePerEnteredValue, unit: volume }) };
}

/** What the shelf says a product is for, as the checks name it. */
export function statedRole(role: string): Role {
  if (role === 'biostimulant') return 'humic';
  return ROLES.find((one) => one === role) ?? 'other';
}

/** How a product goes into water: as stated, else told from its form and what it is for. */
function mixingKindOf({ mixingKind, form, role }: Pick<Product, 'mixingKind' | 'form' | 'role'>): MixingKind {
  const stated = MIXING_KINDS.find((kind) => kind === mixingKind);
  if (stated !== undefined) return stated;
  if (role === 'acidifier') return 'acid';
  if (role === 'surfactant') return 'surfactant';
  if (role === 'pigment') return 'dye';
  if (role === 'biostimulant') return 'humic or seaweed';
  if (form === 'liquid') return 'liquid fertiliser';
  return role === 'iron' ? 'iron salt' : 'soluble salt';
}

/** A product of the shelf as planning sees it. */
export function planProduct(product: Product): PlanProduct {
  const analysis = analysisOf(product);
  return {
    id: product.id,
    name: product.name,
    form: product.form,
    densityKgPerL: product.densityKgPerL,
    analysis,
    composition: product.composition?.map(({ species, massShare }) => ({ substance: species, massShare })) ?? null,
    mixingKind: mixingKindOf(product),
    roles: rolesOf(statedRole(product.role), analysis),
    usualRate: rateOf(product.labelRateEnteredValue, product.labelRateEnteredUnit),
    mostPerApplication: rateOf(product.labelMaxEnteredValue, product.labelMaxEnteredUnit),
    minIntervalDays: product.minIntervalDays,
    leastCarrierLPerHa: product.labelLeastCarrierLPerHa,
    conditions: {
      lowestTempC: product.labelLowestTempC,
      highestTempC: product.labelHighestTempC,
      rainfastHours: product.labelRainfastHours,
      reEntryHours: product.labelReEntryHours,
      watering:
        product.labelWatering === 'water-in' || product.labelWatering === 'keep-dry' ? product.labelWatering : null,
      mowingWaitDays: product.labelMowingWaitDays,
    },
    mostPerSeason: rateOf(product.seasonCapEnteredValue, product.seasonCapEnteredUnit),
    mostApplicationsPerSeason: product.seasonMostApplications,
    pack: packOf(product),
    currency: product.priceCurrency,
    cautions: product.cautions
      .split('\n')
      .map((line) => line.trim())
      .filter((line) => line !== ''),
  };
}
