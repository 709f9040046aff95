import 'server-only';
import { costOf } from '@/lib/spray/cost';
import { showTyped, unitLabel, type UnitSystem } from '@/lib/units/display';
import { packOf } from '../sprays/plan-product';
import type { TrialRecord } from './trial-record';

/** What the sprays so far have cost per hectare, by treatment; only where every product used has a price. */
export function treatmentCosts(record: TrialRecord): { costPerHa: Record<string, number>; currency: string | null } {
  const products = new Map(
    record.trial.treatments.flatMap((treatment) =>
      treatment.items.map((item) => [item.productId, item.product] as const),
    ),
  );
  const costPerHa: Record<string, number> = {};
  const currencies = new Set<string>();
  for (const treatment of record.trial.treatments.filter((one) => !one.onSubplots)) {
    const plot = record.trial.plots.find((one) => one.treatmentId === treatment.id);
    const sprays = record.sprays.filter((spray) => spray.plots.some((covered) => covered.plotId === plot?.plotId));
    let total: number | null = 0;
    for (const item of sprays.flatMap((spray) => spray.items)) {
      const product = products.get(item.productId);
      const pack = product ? packOf(product) : null;
      const cost =
        product && pack
          ? costOf({ massKg: item.rateKgPerHa, volumeL: item.rateLPerHa }, pack, product.densityKgPerL)
          : null;
      if (product?.priceCurrency) currencies.add(product.priceCurrency);
      total = total === null || typeof cost !== 'number' ? null : total + cost;
    }
    if (total !== null && sprays.length > 0 && currencies.size <= 1) costPerHa[treatment.name] = total;
  }
  return { costPerHa, currency: [...currencies][0] ?? null };
}

/**
 * The rate of each treatment where all that is sprayed differs in the rate of one product alone; the check is rate 0
 * where nothing else was sprayed. Null where treatments differ in more, or fewer than three rates were tried.
 * Exported for treatments that differ in more than a rate.
 */
export function ratesOf(
  trial: Pick<TrialRecord['trial'], 'treatments'>,
  system: UnitSystem,
): { unit: string; of: Record<string, number> } | null {
  const sprayed = trial.treatments.filter((treatment) => treatment.items.length > 0);
  const keys = (treatment: (typeof sprayed)[number]) =>
    treatment.items
      .map((item) => `${item.productId} ${item.rateEnteredUnit}`)
      .sort()
      .join();
  const [first] = sprayed;
  if (
    !first ||
    sprayed.some(
      (treatment) =>
        keys(treatment) !== keys(first) ||
        treatment.onSubplots !== first.onSubplots ||
        treatment.carrierLPerHa !== first.carrierLPerHa,
    )
  )
    return null;
  const rateIn = (treatment: (typeof sprayed)[number], productId: string) =>
    treatment.items.find((item) => item.productId === productId)?.rateEnteredValue ?? 0;
  const varying = first.items.filter(
    (item) => new Set(sprayed.map((treatment) => rateIn(treatment, item.productId))).size > 1,
  );
  const [only] = varying;
  if (varying.length !== 1 || !only) return null;
  const of: Record<string, number> = Object.fromEntries(
    sprayed.map((treatment) => [treatment.name, rateIn(treatment, only.productId)]),
  );
  const check = trial.treatments.find((treatment) => treatment.isCheck);
  if (check && first.items.length === 1 && check.onSubplots === first.onSubplots) of[check.name] = 0;
  if (new Set(Object.values(of)).size < 3) return null;
  // One unit for all, the one in which the reader sees the highest.
  const highest = Math.max(...Object.values(of));
  const shown = showTyped({ value: highest, unit: only.rateEnteredUnit }, system);
  return {
    unit: `${unitLabel(shown.unit, system)} of ${only.product.name}`,
    of: Object.fromEntries(Object.entries(of).map(([name, rate]) => [name, (rate / highest) * shown.value])),
  };
}
