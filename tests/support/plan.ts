import { GENERIC_MATERIALS } from '@/lib/spray/generic-materials';
import type { PlanFacts } from '@/lib/plan/spray-plan';
import type { PlanProduct } from '@/lib/plan/plan-product';
import type { TypedItem, TypedPlan } from '@/lib/plan/typed-plan';

/** A generic material as a product of the shelf, with whatever else its label says. */
export function material(id: string, more: Partial<PlanProduct> = {}): PlanProduct {
  const found = GENERIC_MATERIALS.find((one) => one.id === id);
  if (!found) throw new Error(`no material ${id}`);
  return {
    ...found,
    usualRate: null,
    mostPerApplication: null,
    minIntervalDays: null,
    mostPerSeason: null,
    mostApplicationsPerSeason: null,
    pack: null,
    currency: null,
    ...more,
  };
}

/** A product by its rate. */
export function byRate(productId: string, value: string, unit: string): TypedItem {
  return { productId, by: 'rate', rate: { value, unit }, nutrient: { value: '', unit: 'lb/1000ft2' }, basis: 'N' };
}

/** A bench with one plot and a 4-gallon tank at 1 gal/1000 ft², nothing on it yet. */
export function typedPlan(more: Partial<TypedPlan> = {}): TypedPlan {
  // prettier-ignore
  return {
    startedLocal: '2026-05-20T19:00', plotIds: ['north'], sprayerId: '', carrier: { value: '1', unit: 'us-gal/1000ft2' }, tank: { value: '4', unit: 'us-gal' },
    headroomPercent: '', reservePercent: '', evenLoads: false, items: [], waterPh: '', waterAlkalinity: { value: '', unit: 'mg/L CaCO3' },
    waterHardness: { value: '', unit: 'mg/L CaCO3' }, targetPh: '', acidAir: 'closed', jarPh: '', airTemp: { value: '', unit: 'degF' }, relHumidityPercent: '',
    wind: { value: '', unit: 'mph' }, overLimitReason: '', note: '', ...more,
  };
}

const FT2 = 0.09290304;

/** Two plots of 6000 and 2000 ft², no history. */
export function facts(products: readonly PlanProduct[], more: Partial<PlanFacts> = {}): PlanFacts {
  return {
    planId: 'new',
    startMs: Date.UTC(2026, 4, 21, 1),
    timeZone: 'America/Denver',
    latitudeDeg: 40,
    plots: [
      { id: 'north', name: 'North', areaM2: 6000 * FT2, lengthM: 30.48, widthM: 18.288 },
      { id: 'south', name: 'South', areaM2: 2000 * FT2, lengthM: null, widthM: null },
    ],
    sprayers: [],
    products,
    history: [],
    ...more,
  };
}
