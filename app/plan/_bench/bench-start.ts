import type { Lawn } from '@/lib/diary/lawns';
import type { Plot } from '@/lib/diary/plots';
import type { Sprayer } from '@/lib/diary/sprayers';
import type { Spray } from '@/lib/diary/sprays';
import type { TypedAmount, TypedItem, TypedPlan } from '@/lib/plan/typed-plan';
import type { PlanStart } from '@/lib/forms/queries/plan-query';
import { fromLPerHa } from '@/lib/units/rate';
import { fromMPerS } from '@/lib/units/speed';
import { fromC } from '@/lib/units/temperature';
import { inOwnUnit, isOwnUnit, unitLabel, type UnitSystem } from '@/lib/units/display';
import { fieldDigits } from '@/lib/units/field-digits';
import { unitChoices } from '@/app/_ui/unit-choices';
import type { BenchUnits, SprayerStart } from './work-out';

const digits = (value: number) => String(fieldDigits(value));

/** The units offered on the bench, the reader's own first. */
export function benchUnits(system: UnitSystem): BenchUnits {
  const dry = unitChoices('dryRate', system);
  const mgPerL = { value: 'mg/L CaCO3', label: unitLabel('mg/L CaCO3', system) };
  return {
    liquid: unitChoices('liquidRate', system),
    dry,
    nutrient: dry
      .filter((choice) => /\/(1000ft2|acre|m2|100m2|ha)$/.test(choice.value))
      .sort((a, b) => Number(b.value === usualNutrient(system)) - Number(a.value === usualNutrient(system))),
    carrier: unitChoices('carrier', system),
    tank: unitChoices('tank', system),
    alkalinity: [mgPerL, ...unitChoices('alkalinity', system).filter((choice) => choice.value !== mgPerL.value)],
    temperature: unitChoices('temperature', system),
    speed: unitChoices('speed', system),
  };
}

const usualNutrient = (system: UnitSystem) => (system === 'metric' ? 'kg/ha' : 'lb/1000ft2');

/** An amount of the diary as a bench begins with it: in the reader's own units. */
const own = (amount: { value: number; unit: string }, system: UnitSystem): TypedAmount => {
  const { value, unit } = inOwnUnit(amount, system);
  return { value: digits(value), unit };
};

/** What a sprayer fills in: its tank as entered, and the carrier volume of its catch test. */
export function sprayerStart(sprayer: Sprayer, system: UnitSystem): SprayerStart {
  const unit = system === 'metric' ? 'L/100m2' : 'us-gal/1000ft2';
  const typedCarrier =
    sprayer.carrierEnteredValue !== null && sprayer.carrierEnteredUnit !== null && sprayer.catchTestMl === null;
  return {
    id: sprayer.id,
    carrier: typedCarrier
      ? own({ value: sprayer.carrierEnteredValue ?? 0, unit: sprayer.carrierEnteredUnit ?? unit }, system)
      : sprayer.carrierLPerHa === null
        ? null
        : { value: digits(fromLPerHa(sprayer.carrierLPerHa, unit).value), unit },
    tank:
      sprayer.tankEnteredValue !== null && sprayer.tankEnteredUnit !== null
        ? own({ value: sprayer.tankEnteredValue, unit: sprayer.tankEnteredUnit }, system)
        : own({ value: sprayer.tankL, unit: 'L' }, system),
  };
}

const given = (value: number | null, unit: string): TypedAmount => ({
  value: value === null ? '' : digits(value),
  unit,
});

/** A spray's products as they were typed, to plan the like again. */
export function itemsOf(spray: Spray, units: BenchUnits, system: UnitSystem): TypedItem[] {
  return spray.items.map((item) => ({
    productId: item.productId,
    by: 'rate',
    rate: own({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, system),
    nutrient: { value: '', unit: units.nutrient[0]?.value ?? '' },
    basis: 'N',
  }));
}

/** The bench as another page wishes it: its plots, products and carrier volume; the rest as for an empty one. */
export function wishedStart(wish: PlanStart, fresh: TypedPlan, plots: readonly Plot[], units: BenchUnits): TypedPlan {
  const plotIds = plots.map((plot) => plot.id).filter((id) => wish.plotIds.includes(id));
  const items = wish.items.map(({ productId, value, unit }): TypedItem => ({
    productId,
    by: 'rate',
    rate: { value, unit },
    nutrient: { value: '', unit: units.nutrient[0]?.value ?? '' },
    basis: 'N',
  }));
  return {
    ...fresh,
    ...(plotIds.length > 0 ? { plotIds } : {}),
    ...(items.length > 0 ? { items } : {}),
    ...(wish.carrier ? { carrier: wish.carrier } : {}),
    ...(wish.startedLocal ? { startedLocal: wish.startedLocal } : {}),
  };
}

/** An empty bench for this lawn: its water and its first sprayer; no plot is ticked. */
export function benchStart(
  lawn: Lawn,
  sprayers: readonly Sprayer[],
  startedLocal: string,
  units: BenchUnits,
): TypedPlan {
  const system = lawn.unitSystem;
  const first = sprayers[0] ? sprayerStart(sprayers[0], system) : null;
  return {
    startedLocal,
    plotIds: [],
    sprayerId: first?.id ?? '',
    carrier: first?.carrier ?? { value: '', unit: units.carrier[0]?.value ?? '' },
    tank: first?.tank ?? { value: '', unit: units.tank[0]?.value ?? '' },
    headroomPercent: '',
    reservePercent: '',
    evenLoads: false,
    items: [
      {
        productId: '',
        by: 'rate',
        rate: { value: '', unit: units.liquid[0]?.value ?? '' },
        nutrient: { value: '', unit: units.nutrient[0]?.value ?? '' },
        basis: 'N',
      },
    ],
    waterPh: lawn.waterPh === null ? '' : digits(lawn.waterPh),
    waterAlkalinity: given(lawn.waterAlkalinityMgPerLCaCO3, 'mg/L CaCO3'),
    waterHardness: given(lawn.waterHardnessMgPerLCaCO3, 'mg/L CaCO3'),
    targetPh: '',
    acidAir: 'closed',
    jarPh: '',
    airTemp: { value: '', unit: units.temperature[0]?.value ?? '' },
    relHumidityPercent: '',
    wind: { value: '', unit: units.speed[0]?.value ?? '' },
    overLimitReason: '',
    note: '',
  };
}

/** What the diary's weather hours say for the day of the plan; empty where they say nothing. */
export function weatherStart(
  weather: { warmestC: number | null; relHumidityPercent: number | null; windMPerS: number | null },
  system: UnitSystem,
): Pick<TypedPlan, 'airTemp' | 'relHumidityPercent' | 'wind'> {
  const metric = system === 'metric';
  return {
    airTemp: given(
      weather.warmestC === null ? null : Number(fromC(weather.warmestC, metric ? 'degC' : 'degF').value.toFixed(1)),
      metric ? 'degC' : 'degF',
    ),
    relHumidityPercent: weather.relHumidityPercent === null ? '' : String(Math.round(weather.relHumidityPercent)),
    wind: given(
      weather.windMPerS === null ? null : Number(fromMPerS(weather.windMPerS, metric ? 'm/s' : 'mph').value.toFixed(1)),
      metric ? 'm/s' : 'mph',
    ),
  };
}

/**
 * A kept plan as its bench begins: what was typed stands as it was typed; fields left empty ask in the reader's own
 * units.
 */
export function withOwnUnits(kept: TypedPlan, fresh: TypedPlan, system: UnitSystem): TypedPlan {
  const asks = (amount: TypedAmount, own: TypedAmount): TypedAmount =>
    amount.value.trim() === '' && !isOwnUnit(amount.unit, system) ? { value: '', unit: own.unit } : amount;
  const [item] = fresh.items;
  return {
    ...kept,
    carrier: asks(kept.carrier, fresh.carrier),
    tank: asks(kept.tank, fresh.tank),
    airTemp: asks(kept.airTemp, fresh.airTemp),
    wind: asks(kept.wind, fresh.wind),
    items: kept.items.map((one) => ({
      ...one,
      rate: asks(one.rate, item?.rate ?? one.rate),
      nutrient: asks(one.nutrient, item?.nutrient ?? one.nutrient),
    })),
  };
}
