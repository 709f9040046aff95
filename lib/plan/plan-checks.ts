import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { type BurnConditions, burnChecks } from '@/lib/spray/burn-checks';
import { type Check, gravestFirst, LABEL } from '@/lib/spray/check';
import type { Application, Role } from '@/lib/spray/application';
import { labelChecks, type LabelLimits } from '@/lib/spray/limits';
import type { MixItem } from '@/lib/spray/mix-item';
import { mixtureChecks } from '@/lib/spray/mixture-checks';
import type { PerElement } from '@/lib/spray/nutrients';
import type { AreaDose } from '@/lib/spray/product-rate';
import type { SaltLoad } from '@/lib/spray/solution';
import { labelConditions } from './label-conditions';
import { limitDose, type PlanProduct } from './plan-product';
import type { Season } from './season';
import { quantity } from '@/lib/units/quantity';

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
  /** Plots that may share ground with it: nobody said where they lie. */
  readonly maybePlotIds?: readonly string[];
}

/** Two plots that share ground. */
export interface SharedPair {
  readonly first: string;
  readonly second: string;
  readonly sharedM2: number;
}

/** A spray, planned or done, as its labels see it. Items stand in the order of the products. */
export interface LabelledMix {
  readonly planId: string;
  readonly startMs: number;
  readonly endMs: number;
  readonly plots: readonly { readonly id: string; readonly name: string; readonly isCheck?: boolean }[];
  readonly products: readonly PlanProduct[];
  readonly items: readonly { readonly dose: AreaDose }[];
  /** Null when not recorded: a limit per tank volume then can't be held. */
  readonly carrierLPerHa: number | null;
  readonly season: Season;
}

export interface CheckedMix extends LabelledMix {
  readonly items: readonly MixItem[];
  readonly carrierLPerHa: number;
  readonly tankPH: number | null;
  readonly hardnessMgPerLCaCO3: number | null;
  readonly airTempC: number | null;
  /** From where on it is warm and hot for the lawn's grass, °C. */
  readonly heat?: BurnConditions['heat'];
  readonly salt: SaltLoad;
  readonly overlaps: readonly SharedPair[];
}

/**
 * A spray against its labels, plot by plot, over the diary's other sprays; the same answer for several plots is given
 * once. Where it isn't known whether two plots share ground, it is said when sharing it would break a limit.
 */
export function labelChecksOver(mix: LabelledMix, history: readonly PastSpray[]): readonly Check[] {
  const others = applicationsOf(history, (spray) => spray.plotIds);
  const perhaps = history.some((spray) => spray.maybePlotIds !== undefined)
    ? applicationsOf(history, (spray) => [...spray.plotIds, ...(spray.maybePlotIds ?? [])])
    : null;
  const checks = mix.products.flatMap((product, place) => {
    const item = mix.items[place];
    if (item === undefined) return [];
    const planned: Application = {
      id: mix.planId,
      productId: product.id,
      productName: product.name,
      startMs: mix.startMs,
      endMs: mix.endMs,
      plotIds: mix.plots.map((plot) => plot.id),
      dose: item.dose,
      roles: product.roles,
      minIntervalDays: product.minIntervalDays,
    };
    const limits = limitsOf(product, mix);
    const sure = labelChecks(planned, limits, others);
    return perhaps === null ? sure : [...sure, ...ifGroundIsShared(sure, labelChecks(planned, limits, perhaps))];
  });
  return byPlots(checks, mix.plots);
}

const applicationsOf = (history: readonly PastSpray[], plotIds: (spray: PastSpray) => readonly string[]) =>
  history.flatMap((spray) =>
    spray.items.map((item): Application => ({
      id: spray.id,
      productId: item.productId,
      productName: spray.planned ? `${item.productName} (planned)` : item.productName,
      startMs: spray.startMs,
      endMs: spray.endMs,
      plotIds: plotIds(spray),
      dose: item.dose,
      roles: item.roles,
      minIntervalDays: item.minIntervalDays,
    })),
  );

/** What would be wrong, and isn't as far as is known, if plots of which nobody said where they lie shared ground. */
function ifGroundIsShared(sure: readonly Check[], perhaps: readonly Check[]): readonly Check[] {
  const isFault = (check: Check) => check.level !== 'clear' && check.level !== 'note';
  const known = new Set(sure.filter(isFault).map((check) => `${check.code}|${check.subject}`));
  return perhaps
    .filter((check) => isFault(check) && !known.has(`${check.code}|${check.subject}`))
    .map((check): Check => ({
      ...check,
      code: 'ground-unknown',
      level: 'note',
      sentence: `Nobody said whether this plot shares ground with other sprayed plots; if it does: ${check.sentence}`,
      fix: 'Say on the Lawn page where the plots lie.',
    }));
}

/** The check that isn't left unsprayed, and plots that lie on each other. */
export function groundChecks({ plots, overlaps }: Pick<CheckedMix, 'plots' | 'overlaps'>): readonly Check[] {
  const about = { value: null, limit: null, unit: '', source: COMMON_PRACTICE } as const;
  const checks = plots
    .filter((plot) => plot.isCheck === true)
    .map((plot): Check => ({
      ...about,
      code: 'check-sprayed',
      level: 'caution',
      subject: plot.name,
      sentence: `${plot.name} is the check: once it is sprayed, nothing says any more what would have happened without.`,
      fix: `Leave ${plot.name} out.`,
    }));
  const named = (id: string) => plots.find((plot) => plot.id === id)?.name;
  const twice = overlaps.flatMap(({ first, second, sharedM2 }): Check[] => {
    const [small, large] = [named(first), named(second)];
    if (small === undefined || large === undefined) return [];
    return [
      {
        ...about,
        code: 'plots-overlap',
        level: 'caution',
        subject: `${small}, ${large}`,
        value: sharedM2,
        unit: 'm²',
        sentence: `${small} and ${large} share ground: it counts twice in the amounts, and gets the spray twice if both are walked.`,
        fix: `Tick ${large} or ${small}, not both.`,
      },
    ];
  });
  return [...checks, ...twice];
}

/**
 * Everything to look at before spraying, gravest first: label limits over the diary's own sprays, burn, and what the
 * products do to each other.
 */
export function planChecks(mix: CheckedMix, history: readonly PastSpray[]): readonly Check[] {
  const conditions = { carrierLPerHa: mix.carrierLPerHa, airTempC: mix.airTempC, salt: mix.salt, heat: mix.heat };
  return gravestFirst([
    ...labelChecksOver(mix, history),
    ...groundChecks(mix),
    ...carrierOfLabels(mix.products, mix.carrierLPerHa),
    ...labelConditions(mix.products, { airTempC: mix.airTempC }),
    ...notEntered(mix.products),
    ...burnChecks(mix.items, conditions),
    ...mixtureChecks(mix.items, {
      carrierLPerHa: mix.carrierLPerHa,
      tankPH: mix.tankPH,
      hardnessMgPerLCaCO3: mix.hardnessMgPerLCaCO3,
    }),
  ]);
}

function limitsOf(product: PlanProduct, mix: LabelledMix): LabelLimits {
  const most = limitDose(product, product.mostPerSeason, mix.carrierLPerHa);
  return {
    maxPerApplication: limitDose(product, product.mostPerApplication, mix.carrierLPerHa),
    minIntervalDays: product.minIntervalDays,
    seasonCap:
      most === null && product.mostApplicationsPerSeason === null
        ? null
        : {
            window: { kind: 'between', fromMs: mix.season.fromMs, toMs: mix.season.toMs },
            most,
            mostApplications: product.mostApplicationsPerSeason,
          },
  };
}

/** The carrier volume against the least that each label asks for; labels that name none are silent. */
function carrierOfLabels(products: readonly PlanProduct[], carrierLPerHa: number): readonly Check[] {
  return products.flatMap(({ name, leastCarrierLPerHa }): Check[] => {
    if (leastCarrierLPerHa === null || leastCarrierLPerHa === undefined) return [];
    const little = carrierLPerHa < leastCarrierLPerHa * (1 - 1e-9);
    return [
      {
        code: 'label-carrier',
        level: little ? 'over-label' : 'clear',
        subject: name,
        value: carrierLPerHa,
        limit: leastCarrierLPerHa,
        unit: 'L/ha',
        source: LABEL,
        sentence: `${name}: ${quantity('liquidRate', carrierLPerHa)} of carrier; the label asks for at least ${quantity('liquidRate', leastCarrierLPerHa)}.`,
        fix: little ? 'More carrier water: walk slower or go over it twice at half the rate.' : '',
      },
    ];
  });
}

/**
 * Limits nobody typed can't be kept: that is said rather than passed over, once for the products that lack the same.
 */
function notEntered(products: readonly PlanProduct[]): readonly Check[] {
  const lacking = new Map<string, string[]>();
  for (const product of products) {
    const missing = [
      ...(product.mostPerApplication === null ? ['no most per application'] : []),
      ...(product.minIntervalDays === null ? ['no shortest interval'] : []),
      ...(product.mostPerSeason === null && product.mostApplicationsPerSeason === null ? ['no most per season'] : []),
    ].join(', ');
    if (missing !== '') lacking.set(missing, [...(lacking.get(missing) ?? []), product.name]);
  }
  return [...lacking].map(([missing, names]): Check => ({
    code: 'label-not-entered',
    level: 'note',
    subject: '',
    value: null,
    limit: null,
    unit: '',
    source: LABEL,
    sentence: `${names.join('; ')}: ${missing} on the shelf, so that isn't checked.`,
    fix: 'Read the label and enter what it allows.',
  }));
}

/** Checks that differ by plot only, as one with the plots' names; a check of the mix as a whole keeps its subject. */
function byPlots(
  checks: readonly Check[],
  plots: readonly { readonly id: string; readonly name: string }[],
): readonly Check[] {
  const named = new Map(plots.map((plot) => [plot.id, plot.name]));
  const merged = new Map<string, Check>();
  for (const check of checks) {
    const key = `${check.code}|${check.level}|${check.sentence}`;
    const before = merged.get(key);
    const name = named.get(check.subject) ?? check.subject;
    merged.set(
      key,
      before === undefined ? { ...check, subject: name } : { ...before, subject: `${before.subject}, ${name}` },
    );
  }
  return [...merged.values()];
}
