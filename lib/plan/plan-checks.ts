import { burnChecks } from '@/lib/spray/burn-checks';
import { type Check, gravestFirst, LABEL } from '@/lib/spray/check';
import type { Application, Role } from '@/lib/spray/application';
import { labelChecks, type LabelLimits } from '@/lib/spray/limits';
import type { MixItem } from '@/lib/spray/mix-item';
import { mixtureChecks } from '@/lib/spray/mixture-checks';
import type { PerElement } from '@/lib/spray/nutrients';
import type { AreaDose } from '@/lib/spray/product-rate';
import type { SaltLoad } from '@/lib/spray/solution';
import { limitDose, type PlanProduct } from './plan-product';
import type { Season } from './season';

/** One product of a spray that is in the diary. */
export interface PastItem {
  readonly productId: string;
  readonly productName: string;
  readonly dose: AreaDose;
  readonly roles: readonly Role[];
  readonly minIntervalDays: number | null;
  readonly nutrientsKgPerHa: PerElement;
  /** False when its weight, and so its nutrients, isn't known. */
  readonly complete: boolean;
}

/** A spray that is in the diary: done, or planned for a time still to come. Times are milliseconds since 1970, UTC. */
export interface PastSpray {
  readonly id: string;
  readonly startMs: number;
  readonly endMs: number;
  readonly plotIds: readonly string[];
  readonly planned: boolean;
  readonly items: readonly PastItem[];
}

export interface CheckedMix {
  readonly planId: string;
  readonly startMs: number;
  readonly endMs: number;
  readonly plots: readonly { readonly id: string; readonly name: string }[];
  readonly products: readonly PlanProduct[];
  readonly items: readonly MixItem[];
  readonly carrierLPerHa: number;
  readonly tankPH: number | null;
  readonly hardnessMgPerLCaCO3: number | null;
  readonly airTempC: number | null;
  readonly salt: SaltLoad;
  readonly season: Season;
}

/**
 * Everything to look at before spraying, gravest first: label limits plot by plot over the diary's own sprays, burn, and what
 * the products do to each other. The same answer for several plots is given once, with the plots named.
 */
export function planChecks(mix: CheckedMix, history: readonly PastSpray[]): readonly Check[] {
  const others = history.flatMap((spray) => spray.items.map((item): Application => ({
    id: spray.id, productId: item.productId, productName: spray.planned ? `${item.productName} (planned)` : item.productName,
    startMs: spray.startMs, endMs: spray.endMs, plotIds: spray.plotIds, dose: item.dose, roles: item.roles, minIntervalDays: item.minIntervalDays,
  })));
  const label = mix.products.flatMap((product, place) => {
    const item = mix.items[place];
    if (item === undefined) return [];
    const planned: Application = {
      id: mix.planId, productId: product.id, productName: product.name, startMs: mix.startMs, endMs: mix.endMs,
      plotIds: mix.plots.map((plot) => plot.id), dose: item.dose, roles: product.roles, minIntervalDays: product.minIntervalDays,
    };
    return [...notEntered(product), ...labelChecks(planned, limitsOf(product, mix), others)];
  });
  const conditions = { carrierLPerHa: mix.carrierLPerHa, airTempC: mix.airTempC, salt: mix.salt };
  return gravestFirst([
    ...byPlots(label, mix.plots),
    ...burnChecks(mix.items, conditions),
    ...mixtureChecks(mix.items, { carrierLPerHa: mix.carrierLPerHa, tankPH: mix.tankPH, hardnessMgPerLCaCO3: mix.hardnessMgPerLCaCO3 }),
  ]);
}

function limitsOf(product: PlanProduct, mix: CheckedMix): LabelLimits {
  const most = limitDose(product, product.mostPerSeason, mix.carrierLPerHa);
  return {
    maxPerApplication: limitDose(product, product.mostPerApplication, mix.carrierLPerHa),
    minIntervalDays: product.minIntervalDays,
    seasonCap: most === null && product.mostApplicationsPerSeason === null
      ? null
      : { window: { kind: 'between', fromMs: mix.season.fromMs, toMs: mix.season.toMs }, most, mostApplications: product.mostApplicationsPerSeason },
  };
}

/** A limit nobody typed can't be kept: it is said rather than passed over. */
function notEntered(product: PlanProduct): readonly Check[] {
  const missing = [
    ...(product.mostPerApplication === null ? ['most per application'] : []),
    ...(product.minIntervalDays === null ? ['shortest interval'] : []),
    ...(product.mostPerSeason === null && product.mostApplicationsPerSeason === null ? ['most per season'] : []),
  ];
  if (missing.length === 0) return [];
  return [{
    code: 'label-not-entered', level: 'note', subject: '', value: null, limit: null, unit: '', source: LABEL,
    sentence: `${product.name}: no ${missing.join(', no ')} on the shelf, so that isn't checked.`, fix: 'Read the label and enter what it allows.',
  }];
}

/** Checks that differ by plot only, as one with the plots' names; a check of the mix as a whole keeps its subject. */
function byPlots(checks: readonly Check[], plots: readonly { readonly id: string; readonly name: string }[]): readonly Check[] {
  const named = new Map(plots.map((plot) => [plot.id, plot.name]));
  const merged = new Map<string, Check>();
  for (const check of checks) {
    const key = `${check.code}|${check.level}|${check.sentence}`;
    const before = merged.get(key);
    const name = named.get(check.subject) ?? check.subject;
    merged.set(key, before === undefined ? { ...check, subject: name } : { ...before, subject: `${before.subject}, ${name}` });
  }
  return [...merged.values()];
}
