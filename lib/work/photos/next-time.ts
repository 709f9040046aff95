import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import type { Product } from '@/lib/diary/products';
import type { Spray } from '@/lib/diary/sprays';
import { dryingWhatIfSentence } from '@/lib/explain/weigh-causes';
import { type SprayWhatIf } from '@/lib/explain/causes';
import { showSpeed, showTemperature } from '@/lib/units/display';
import { hourStartOf, type WeatherHour } from '@/lib/weather/hour';
import { planAddress } from '../sprays/plan-address';
import { dryingOf, minutesOf, type SprayFacts } from '../sprays/spray-facts';
import { dayText, momentText, timeText } from '@/lib/units/dates';
import { asRead, quantity } from '@/lib/units/quantity';

/** One thing to do otherwise, with the numbers the models give for it, and a plan that does it. */
export interface NextTime {
  whatIf: SprayWhatIf;
  /** Numbers from the drying model; null where it has nothing to say. */
  numbers: string | null;
  plan: string;
}

/** What the models say to a what-if, for the same spray in the weather that was. */
export function numbersFor(
  { change, text }: SprayWhatIf,
  lawn: Lawn,
  hours: readonly WeatherHour[],
  spray: Spray,
  facts: SprayFacts,
): string | null {
  const start = spray.startedAt.getTime();
  const clock = (ms: number) => timeText(ms, lawn);
  if (change.waitDays !== undefined) return `Not before ${dayText(start + change.waitDays * DAY_MS, lawn)}.`;
  if (facts.carrierLPerHa === null) return null;
  if (change.ironFactor !== undefined) {
    const gPerL = (facts.nutrientsKgPerHa.Fe * 1000) / facts.carrierLPerHa;
    return asRead(
      `${quantity('strength', gPerL * change.ironFactor)} of iron in the mix instead of ${quantity('strength', gPerL)}.`,
      lawn.unitSystem,
    );
  }
  if (facts.dryingMinutes === null) return null;
  const at = change.hoursLater === undefined ? start : start + change.hoursLater * HOUR_MS;
  if (change.carrierFactor !== undefined || change.hoursLater !== undefined) {
    const minutes = minutesOf(dryingOf(lawn, hours, at, facts.carrierLPerHa * (change.carrierFactor ?? 1)), at);
    const what =
      change.carrierFactor === undefined
        ? 'The same spray'
        : `${change.carrierFactor === 2 ? 'Twice' : `${change.carrierFactor} times`} the carrier`;
    if (minutes === null) return null;
    const air = change.hoursLater === undefined ? '' : airAt(hours, at, lawn);
    return `${dryingWhatIfSentence(what, clock(at), minutes, facts.dryingMinutes)}${air}`;
  }
  const fits = (hour: WeatherHour) =>
    hour.hourStartUtcMs > start - DAY_MS &&
    (change.maxTempC === undefined || (hour.airTempC ?? Infinity) <= change.maxTempC) &&
    (change.maxWindMPerS === undefined || (hour.windMPerS ?? Infinity) <= change.maxWindMPerS) &&
    (hour.solarWPerM2 ?? 0) > 0 &&
    (hour.rainMm ?? 0) === 0;
  if (change.maxTempC === undefined && change.maxWindMPerS === undefined) return null;
  const other = hours
    .filter(fits)
    .sort((a, b) => Math.abs(a.hourStartUtcMs - start) - Math.abs(b.hourStartUtcMs - start))[0];
  if (!other) return `${text}: none in the day before or the two after.`;
  const minutes = minutesOf(dryingOf(lawn, hours, other.hourStartUtcMs, facts.carrierLPerHa), other.hourStartUtcMs);
  const when = momentText(other.hourStartUtcMs, lawn);
  return minutes === null ? null : dryingWhatIfSentence('The same spray', when, minutes, facts.dryingMinutes);
}

/** Temperature and wind of an hour in words, which with the sun make the difference; empty where they aren't known. */
function airAt(hours: readonly WeatherHour[], atMs: number, lawn: Lawn): string {
  const hour = hours.find((one) => one.hourStartUtcMs === hourStartOf(atMs));
  if (hour === undefined || hour.airTempC === null || hour.windMPerS === null) return '';
  return ` The air then: ${showTemperature(hour.airTempC, lawn.unitSystem).text}, wind ${showSpeed(hour.windMPerS, lawn.unitSystem).text}.`;
}

/** The spray again with changes: rates of iron and surfactant, carrier volume, and when. */
export function planWith(
  spray: Spray,
  products: ReadonlyMap<string, Product>,
  changes: readonly SprayWhatIf[],
  startedLocal: string,
): string {
  const factor = (name: 'ironFactor' | 'surfactantFactor') =>
    Math.min(1, ...changes.map(({ change }) => change[name] ?? 1));
  const carrierFactor = Math.max(1, ...changes.map(({ change }) => change.carrierFactor ?? 1));
  const items = spray.items.flatMap((item) => {
    const product = products.get(item.productId);
    const by =
      (product?.role === 'surfactant' ? factor('surfactantFactor') : 1) *
      ((product?.fePercent ?? 0) > 0 ? factor('ironFactor') : 1);
    // A rate per tank volume gets weaker by itself when there is more water; what lies on the ground is to stay.
    const perTank = /^% v\/v$|\/(100)?(us-gal|L)$/.test(item.rateEnteredUnit) ? 1 / carrierFactor : 1;
    return by === 0
      ? []
      : [
          {
            productId: item.productId,
            rateEnteredValue: item.rateEnteredValue * by * perTank,
            rateEnteredUnit: item.rateEnteredUnit,
          },
        ];
  });
  const carrier =
    spray.carrierEnteredValue !== null && spray.carrierEnteredUnit !== null
      ? { value: spray.carrierEnteredValue * carrierFactor, unit: spray.carrierEnteredUnit }
      : spray.carrierLPerHa === null
        ? { value: null, unit: null }
        : { value: spray.carrierLPerHa * carrierFactor, unit: 'L/ha' };
  return planAddress({ plotIds: spray.plots.map((covered) => covered.plotId), items, carrier, startedLocal });
}
