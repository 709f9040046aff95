import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import type { Spray } from '@/lib/diary/sprays';
import { unitLabel, type UnitSystem } from '@/lib/units/display';
import { fromKPa } from '@/lib/units/pressure';
import { fromKgPerHa, fromLPerHa } from '@/lib/units/rate';
import { fromC } from '@/lib/units/temperature';
import { factsOfSpray } from '../sprays/spray-facts';

/** Something a response can be held against: its key in the address, its name with unit as the axis shows it. */
export interface Factor {
  key: string;
  name: string;
}

const NUTRIENTS = ['N', 'P', 'K', 'S', 'Fe', 'Mn', 'Mg'] as const;

export function lastOn(plotId: string, spray: Spray, sprays: readonly Spray[]): Date | null {
  return (
    sprays.find(
      (other) => other.startedAt < spray.startedAt && other.plots.some((covered) => covered.plotId === plotId),
    )?.startedAt ?? null
  );
}

export function factorsFor(
  products: readonly { id: string; name: string; form: string }[],
  system: UnitSystem,
): Factor[] {
  const metric = system === 'metric';
  return [
    ...NUTRIENTS.map((element) => ({
      key: element,
      name: `${element}, ${metric ? 'kg/ha' : unitLabel('lb/1000ft2')}`,
    })),
    ...products.map((product) => ({
      key: `rate-${product.id}`,
      name: `${product.name}, ${rateUnit(product.form, system).label}`,
    })),
    { key: 'interval', name: 'days since the last spray' },
    { key: 'carrier', name: `carrier volume, ${unitLabel(metric ? 'L/100m2' : 'us-gal/1000ft2')}` },
    { key: 'temperature', name: `air temperature, ${unitLabel(metric ? 'degC' : 'degF')}` },
    { key: 'vpd', name: `vapour pressure deficit, ${metric ? 'kPa' : 'inHg'}` },
    { key: 'drying', name: 'drying time, min (estimate)' },
  ];
}

function rateUnit(
  form: string,
  system: UnitSystem,
): { unit: 'L/100m2' | 'us-fl-oz/1000ft2' | 'kg/ha' | 'lb/1000ft2'; label: string } {
  const unit =
    form === 'liquid'
      ? system === 'metric'
        ? 'L/100m2'
        : 'us-fl-oz/1000ft2'
      : system === 'metric'
        ? 'kg/ha'
        : 'lb/1000ft2';
  return { unit, label: unitLabel(unit) };
}

export function valueOf(
  key: string,
  spray: Spray,
  facts: ReturnType<typeof factsOfSpray>,
  last: Date | null,
  system: UnitSystem,
): number | null {
  const metric = system === 'metric';
  if (key === 'interval') return last ? (spray.startedAt.getTime() - last.getTime()) / DAY_MS : null;
  if (key === 'carrier')
    return facts.carrierLPerHa === null
      ? null
      : fromLPerHa(facts.carrierLPerHa, metric ? 'L/100m2' : 'us-gal/1000ft2').value;
  if (key === 'temperature')
    return facts.airTempC === null ? null : fromC(facts.airTempC, metric ? 'degC' : 'degF').value;
  if (key === 'vpd') return facts.vpdKPa === null || metric ? facts.vpdKPa : fromKPa(facts.vpdKPa, 'inHg').value;
  if (key === 'drying') return facts.dryingMinutes;
  if (key.startsWith('rate-')) {
    const items = spray.items.filter((item) => `rate-${item.productId}` === key);
    if (items.length === 0) return 0;
    const { unit } = rateUnit(items[0]?.product.form ?? 'dry', system);
    const liquid = unit === 'L/100m2' || unit === 'us-fl-oz/1000ft2';
    const sum = items.reduce<number | null>((total, item) => {
      const rate = liquid ? item.rateLPerHa : item.rateKgPerHa;
      return total === null || rate === null ? null : total + rate;
    }, 0);
    return sum === null
      ? null
      : unit === 'L/100m2' || unit === 'us-fl-oz/1000ft2'
        ? fromLPerHa(sum, unit).value
        : fromKgPerHa(sum, unit).value;
  }
  const element = NUTRIENTS.find((one) => one === key);
  return element ? fromKgPerHa(facts.nutrientsKgPerHa[element], metric ? 'kg/ha' : 'lb/1000ft2').value : null;
}
