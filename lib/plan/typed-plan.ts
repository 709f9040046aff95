import { AREA_DOSE_UNITS, type DoseWish } from './dose-wish';
import { ALKALINITY_UNITS, type AlkalinityUnit, toMgPerLCaCO3 } from '@/lib/units/concentration';
import {
  LIQUID_AREA_RATE_UNITS,
  type LiquidAreaRateUnit,
  type Rate,
  RATE_UNITS,
  type RateUnit,
  toKgPerHa,
  toLPerHa,
} from '@/lib/units/rate';
import { SPEED_UNITS, type SpeedUnit, toMPerS } from '@/lib/units/speed';
import { TEMPERATURE_UNITS, type TemperatureUnit, toC } from '@/lib/units/temperature';
import { numberExpectation, type NumberLimits, readTypedNumber, withinLimits } from '@/lib/units/typed-number';
import { isLocalDateTime } from '@/lib/weather/local-text';
import { toL, VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';
import { NUTRIENT_BASES } from '@/lib/spray/nutrients';

/** A number and its unit as they stand in two inputs. */
export interface TypedAmount {
  readonly value: string;
  readonly unit: string;
}

/** One product of a plan as typed. `by` says which of its three inputs counts. */
export interface TypedItem {
  readonly productId: string;
  readonly by: string;
  readonly rate: TypedAmount;
  readonly nutrient: TypedAmount;
  readonly basis: string;
}

/**
 * A plan as it stands in its form: text throughout, so that nothing typed is lost and browser and server read it alike.
 */
export interface TypedPlan {
  readonly startedLocal: string;
  readonly plotIds: readonly string[];
  readonly sprayerId: string;
  readonly carrier: TypedAmount;
  readonly tank: TypedAmount;
  readonly headroomPercent: string;
  readonly reservePercent: string;
  readonly evenLoads: boolean;
  readonly items: readonly TypedItem[];
  readonly waterPh: string;
  readonly waterAlkalinity: TypedAmount;
  readonly waterHardness: TypedAmount;
  readonly targetPh: string;
  /**
   * 'closed' or 'open': the tank the acid is dosed for; missing in plans kept before there was the choice, which were
   * closed.
   */
  readonly acidAir?: string;
  readonly jarPh: string;
  readonly airTemp: TypedAmount;
  readonly relHumidityPercent: string;
  readonly wind: TypedAmount;
  readonly overLimitReason: string;
  readonly note: string;
}

export interface WishedItem {
  /** Its row in the form, which may hold empty rows above it: faults name it. */
  readonly row: number;
  readonly productId: string;
  readonly dose: DoseWish;
  /** What was typed; null for a dose that follows from the target pH. */
  readonly entered: { readonly value: number; readonly unit: string } | null;
}

/** A typed plan in canonical units. */
export interface CanonicalPlan {
  readonly startedLocal: string;
  readonly plotIds: readonly string[];
  readonly sprayerId: string | null;
  readonly carrierLPerHa: number;
  readonly tankL: number;
  readonly headroomShare: number;
  readonly reserveShare: number;
  readonly evenLoads: boolean;
  readonly items: readonly WishedItem[];
  readonly waterPH: number | null;
  readonly alkalinityMgPerLCaCO3: number | null;
  readonly hardnessMgPerLCaCO3: number | null;
  readonly targetPH: number | null;
  readonly acidAir: 'closed' | 'open';
  readonly jarPH: number | null;
  readonly airTempC: number | null;
  readonly relHumidityPercent: number | null;
  readonly windMPerS: number | null;
  readonly overLimitReason: string;
  readonly note: string;
}

/** What is off at one field. `missing` is not yet said; `wrong` is said and can't be. */
export interface FieldFault {
  readonly field: string;
  readonly kind: 'missing' | 'wrong';
  readonly sentence: string;
}

class Reader {
  readonly faults: FieldFault[] = [];

  missing(field: string, sentence: string): void {
    this.faults.push({ field, kind: 'missing', sentence });
  }

  wrong(field: string, sentence: string): void {
    this.faults.push({ field, kind: 'wrong', sentence });
  }

  number(field: string, label: string, text: string, limits: NumberLimits, required = false): number | null {
    if (text.trim() === '') {
      if (required) this.missing(field, `${numberExpectation(label, limits)}, got nothing`);
      return null;
    }
    const value = readTypedNumber(text);
    if (withinLimits(value, limits)) return value;
    this.wrong(field, `${numberExpectation(label, limits)}, got '${text.trim()}'`);
    return null;
  }

  amount<U extends string>(
    field: string,
    label: string,
    typed: TypedAmount,
    units: readonly U[],
    limits: NumberLimits,
    required = false,
  ): { value: number; unit: U } | null {
    const value = this.number(field, label, typed.value, limits, required);
    if (value === null) return null;
    const unit = units.find((one) => one === typed.unit);
    if (unit !== undefined) return { value, unit };
    this.wrong(field, `${label}: expected a unit of the list, got '${typed.unit}'`);
    return null;
  }
}

const mapped = <A, B>(value: A | null, turn: (value: A) => B): B | null => (value === null ? null : turn(value));

/**
 * Reads a typed plan: canonical units, or what is off at which field. Ids are not looked up here.
 * @returns `wish` null as soon as anything is off
 */
export function readTypedPlan(typed: TypedPlan): {
  readonly wish: CanonicalPlan | null;
  readonly faults: readonly FieldFault[];
} {
  const read = new Reader();
  if (!isLocalDateTime(typed.startedLocal)) {
    read.missing(
      'startedLocal',
      `Planned start: expected a date and time such as 2026-05-01T07:30, got ${typed.startedLocal === '' ? 'nothing' : `'${typed.startedLocal}'`}`,
    );
  }
  if (typed.plotIds.length === 0) read.missing('plotIds', 'Plots: expected at least one plot, got none');
  const carrier = read.amount(
    'carrier',
    'Carrier volume',
    typed.carrier,
    LIQUID_AREA_RATE_UNITS as readonly LiquidAreaRateUnit[],
    { above: 0, max: 100_000 },
    true,
  );
  const tank = read.amount(
    'tank',
    'Tank',
    typed.tank,
    VOLUME_UNITS as readonly VolumeUnit[],
    { above: 0, max: 100_000 },
    true,
  );
  const headroom =
    read.number('headroomPercent', 'Tank left empty', typed.headroomPercent, { min: 0, max: 50, unit: '%' }) ?? 0;
  const reserve = read.number('reservePercent', 'Extra mix', typed.reservePercent, { min: 0, max: 50, unit: '%' }) ?? 0;
  const items = typed.items.flatMap((item, index) => readItem(read, item, index));
  if (items.length === 0 && !read.faults.some((fault) => fault.field.startsWith('items.'))) {
    read.missing('items', 'Products: expected at least one product with its rate, got none');
  }
  const waterPH = read.number('waterPh', 'Water pH', typed.waterPh, { min: 4, max: 11 });
  const alkalinity = read.amount(
    'waterAlkalinity',
    'Alkalinity',
    typed.waterAlkalinity,
    ALKALINITY_UNITS as readonly AlkalinityUnit[],
    { min: 0, max: 2000 },
  );
  const hardness = read.amount(
    'waterHardness',
    'Hardness',
    typed.waterHardness,
    ALKALINITY_UNITS as readonly AlkalinityUnit[],
    { min: 0, max: 5000 },
  );
  const targetPH = read.number('targetPh', 'Target pH', typed.targetPh, { min: 2.5, max: 9 });
  const acidAir = typed.acidAir ?? '';
  if (!['', 'closed', 'open'].includes(acidAir))
    read.wrong('acidAir', `Tank for the acid: expected closed or open, got '${acidAir}'`);
  const jarPH = read.number('jarPh', 'pH of a jar of the mix', typed.jarPh, { min: 0, max: 14 });
  const airTemp = read.amount(
    'airTemp',
    'Warmest air',
    typed.airTemp,
    TEMPERATURE_UNITS as readonly TemperatureUnit[],
    { min: -40, max: 140 },
  );
  const relHumidityPercent = read.number('relHumidityPercent', 'Relative humidity', typed.relHumidityPercent, {
    min: 1,
    max: 100,
    unit: '%',
  });
  const wind = read.amount('wind', 'Wind', typed.wind, SPEED_UNITS as readonly SpeedUnit[], { min: 0, max: 300 });
  const alkalinityMgPerLCaCO3 = mapped(alkalinity, toMgPerLCaCO3);
  if (alkalinityMgPerLCaCO3 !== null && alkalinityMgPerLCaCO3 > 2000)
    read.wrong(
      'waterAlkalinity',
      `Alkalinity: expected at most 2000 mg/L as CaCO₃, got ${Math.round(alkalinityMgPerLCaCO3)}`,
    );
  if (typed.overLimitReason.length > 1000) read.wrong('overLimitReason', 'Reason: expected at most 1000 characters');
  if (typed.note.length > 4000) read.wrong('note', 'Note: expected at most 4000 characters');
  if (read.faults.length > 0 || carrier === null || tank === null) return { wish: null, faults: read.faults };
  return {
    faults: [],
    wish: {
      startedLocal: typed.startedLocal,
      plotIds: typed.plotIds,
      sprayerId: typed.sprayerId === '' ? null : typed.sprayerId,
      carrierLPerHa: toLPerHa(carrier),
      tankL: toL(tank),
      headroomShare: headroom / 100,
      reserveShare: reserve / 100,
      evenLoads: typed.evenLoads,
      items,
      waterPH,
      alkalinityMgPerLCaCO3,
      hardnessMgPerLCaCO3: mapped(hardness, toMgPerLCaCO3),
      targetPH,
      acidAir: acidAir === 'open' ? 'open' : 'closed',
      jarPH,
      airTempC: mapped(airTemp, toC),
      relHumidityPercent,
      windMPerS: mapped(wind, toMPerS),
      overLimitReason: typed.overLimitReason.trim(),
      note: typed.note.trim(),
    },
  };
}

function readItem(read: Reader, item: TypedItem, index: number): WishedItem[] {
  const at = `items.${index}`;
  const nothing = item.productId === '' && item.rate.value.trim() === '' && item.nutrient.value.trim() === '';
  if (nothing) return [];
  if (item.productId === '') {
    read.missing(`${at}.productId`, `Product ${index + 1}: expected a product from the shelf, got nothing`);
    return [];
  }
  if (item.by === 'target-ph')
    return [{ row: index, productId: item.productId, dose: { kind: 'target-ph' }, entered: null }];
  if (item.by === 'nutrient') {
    const nutrient = read.amount(
      `${at}.nutrient`,
      'Nutrient rate',
      item.nutrient,
      AREA_DOSE_UNITS,
      { above: 0, max: 1e6 },
      true,
    );
    const basis = NUTRIENT_BASES.find((one) => one === item.basis);
    if (basis === undefined)
      read.wrong(`${at}.nutrient`, `Nutrient: expected one of ${NUTRIENT_BASES.join(', ')}, got '${item.basis}'`);
    if (nutrient === null || basis === undefined) return [];
    return [
      {
        row: index,
        productId: item.productId,
        dose: { kind: 'nutrient', basis, kgPerHa: toKgPerHa(nutrient) },
        entered: nutrient,
      },
    ];
  }
  const rate = read.amount(
    `${at}.rate`,
    `Rate of product ${index + 1}`,
    item.rate,
    RATE_UNITS as readonly RateUnit[],
    { above: 0, max: 1e6 },
    true,
  );
  return rate === null
    ? []
    : [{ row: index, productId: item.productId, dose: { kind: 'rate', rate: rate as Rate }, entered: rate }];
}
