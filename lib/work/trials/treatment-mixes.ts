import 'server-only';
import type { Sprayer } from '@/lib/diary/sprayers';
import type { Trial, Treatment } from '@/lib/diary/trials';
import { amountForArea, doseFromRate, type ProductAmount } from '@/lib/spray/product-rate';
import { isDryTankRate, isLiquidTankRate, type Rate } from '@/lib/units/rate';
import { planAddress } from '../sprays/plan-address';
import { labelOf } from './trial-record';

export interface MixLine {
  productId: string;
  name: string;
  form: 'liquid' | 'dry';
  rateEnteredValue: number;
  rateEnteredUnit: string;
  /** For all strips of the treatment together; null with `problem` saying why. */
  amount: ProductAmount | null;
  problem: string | null;
}

export interface TreatmentMix {
  treatment: string;
  isCheck: boolean;
  strips: string[];
  plotIds: string[];
  areaM2: number;
  carrierLPerHa: number | null;
  carrierL: number | null;
  lines: MixLine[];
  /** The plan page filled in with this mix and these plots; null for the check. */
  plan: string | null;
}

/** What to weigh out for each treatment of a trial, for all its strips in one tank. */
export function treatmentMixes(trial: Trial, sprayer: Pick<Sprayer, 'carrierLPerHa'> | null): TreatmentMix[] {
  const find = (id: string | null) => trial.treatments.find((treatment) => treatment.id === id);
  const groups = new Map<string, { main: Treatment; sub: Treatment | undefined; plots: Trial['plots'] }>();
  for (const plot of trial.plots) {
    const main = find(plot.treatmentId);
    if (!main) continue;
    const key = `${plot.treatmentId} ${plot.subTreatmentId ?? ''}`;
    const group = groups.get(key) ?? { main, sub: find(plot.subTreatmentId), plots: [] };
    group.plots.push(plot);
    groups.set(key, group);
  }
  return [...groups.values()]
    .sort(
      (a, b) => a.main.displayOrder - b.main.displayOrder || (a.sub?.displayOrder ?? 0) - (b.sub?.displayOrder ?? 0),
    )
    .map(({ main, sub, plots }) => {
      const items = [...main.items, ...(sub?.items ?? [])];
      const carrierLPerHa = main.carrierLPerHa ?? sub?.carrierLPerHa ?? sprayer?.carrierLPerHa ?? null;
      const areaM2 = plots.reduce((sum, plot) => sum + plot.plot.areaM2, 0);
      return {
        treatment: sub ? `${main.name} + ${sub.name}` : main.name,
        isCheck: items.length === 0,
        strips: plots.map((plot) => labelOf(trial, plot.plotId)),
        plotIds: plots.map((plot) => plot.plotId),
        areaM2,
        carrierLPerHa,
        carrierL: carrierLPerHa === null ? null : (carrierLPerHa * areaM2) / 10_000,
        lines: items.map((item) => mixLine(item, areaM2, carrierLPerHa)),
        plan:
          items.length === 0
            ? null
            : planAddress({
                plotIds: plots.map((plot) => plot.plotId),
                items,
                carrier: { value: main.carrierEnteredValue, unit: main.carrierEnteredUnit },
              }),
      };
    });
}

function mixLine(item: Treatment['items'][number], areaM2: number, carrierLPerHa: number | null): MixLine {
  const { product, productId, rateEnteredValue, rateEnteredUnit } = item;
  const form = product.form === 'liquid' ? 'liquid' : 'dry';
  const line = { productId, name: product.name, form, rateEnteredValue, rateEnteredUnit } as const;
  const rate = { value: rateEnteredValue, unit: rateEnteredUnit } as Rate;
  if ((isLiquidTankRate(rate) || isDryTankRate(rate)) && carrierLPerHa === null)
    return {
      ...line,
      amount: null,
      problem: 'Its rate is per tank volume: give the carrier volume or a sprayer with a catch test.',
    };
  // A rate on an area does not ask for the carrier; any volume above 0 will do.
  const dose = doseFromRate(
    { name: product.name, form, densityKgPerL: product.densityKgPerL },
    rate,
    carrierLPerHa ?? 1,
  );
  return 'sentence' in dose
    ? { ...line, amount: null, problem: dose.sentence }
    : { ...line, amount: amountForArea(dose, areaM2), problem: null };
}
