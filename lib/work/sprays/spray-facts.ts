import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import type { Product } from '@/lib/diary/products';
import type { Spray } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { analysisOf } from '@/lib/forms/product-form';
import { SALT_NOTE_G_PER_L } from '@/lib/spray/burn-checks';
import { dissolvedShare, NOT_SALT } from '@/lib/spray/dissolved';
import { NO_NUTRIENTS, nutrientsIn, sumNutrients, type PerElement } from '@/lib/spray/nutrients';
import { strength } from '@/lib/spray/solution';
import { dryingTime, type DryingResult } from '@/lib/weather/drying';
import { hourStartOf, type WeatherHour } from '@/lib/weather/hour';
import { vapourPressureDeficitKPa } from '@/lib/weather/humidity';
import { sunDay } from '@/lib/weather/sun-times';
import { localOfInstant } from '../diary/lawn-time';
import { filmOnLawn, placeOfLawn } from '../weather/lawn-weather';
import { planProduct } from './plan-product';

/** What the record and the models know of one spray; null where something is missing. */
export interface SprayFacts {
  readonly nutrientsKgPerHa: PerElement;
  /** Fertiliser and acid dissolved in the tank, % weight by volume. */
  readonly solutionPercentWV: number | null;
  readonly carrierLPerHa: number | null;
  readonly airTempC: number | null;
  readonly relHumidityPercent: number | null;
  readonly vpdKPa: number | null;
  readonly windMPerS: number | null;
  /** Estimated minutes until the film was dry. */
  readonly dryingMinutes: number | null;
  readonly sunLeftHours: number | null;
  readonly maxTempNext24hC: number | null;
  readonly rainWithin4hMm: number | null;
}

/** A spray's weather is read from a day before it (clouds) to two days after it. */
const [BEFORE_MS, AFTER_MS] = [24 * HOUR_MS, 48 * HOUR_MS];

/**
 * Dissolved fertiliser and acid on an area, a liquid's own water not counted; null where a weight isn't known. A liquid
 * that states neither composition nor analysis is not in it, and `complete` is false then; extracts of humus and
 * seaweed count nothing.
 */
function dissolvedKgPerHa(
  spray: Spray,
  products: ReadonlyMap<string, Product>,
): { massKgPerHa: number; complete: boolean } | null {
  let massKgPerHa = 0;
  let complete = true;
  for (const item of spray.items) {
    const product = products.get(item.productId);
    if (product === undefined) return null;
    const planned = planProduct(product);
    if (NOT_SALT.has(planned.mixingKind)) continue;
    if (item.rateKgPerHa === null) return null;
    const dissolved = dissolvedShare(planned);
    if (dissolved === null && planned.mixingKind !== 'humic or seaweed') complete = false;
    massKgPerHa += item.rateKgPerHa * (dissolved?.share ?? 0);
  }
  return { massKgPerHa, complete };
}

/** Strength of a spray's solution; null where it isn't known, or is weak only as far as it is. */
function solutionPercentWV(
  dissolved: ReturnType<typeof dissolvedKgPerHa>,
  carrierLPerHa: number | null,
): number | null {
  if (dissolved === null || carrierLPerHa === null) return null;
  const { percentWeightByVolume, gPerL } = strength(dissolved.massKgPerHa, carrierLPerHa);
  return dissolved.complete || gPerL >= SALT_NOTE_G_PER_L ? percentWeightByVolume : null;
}

/** The hours of weather that bear on a spray. */
export async function hoursAround(lawnId: string, at: Date): Promise<WeatherHour[]> {
  return (await hoursAroundEach(lawnId, [at]))[0]!;
}

/** The same for several sprays, in their order; days that they share are read once. */
export async function hoursAroundEach(lawnId: string, at: readonly Date[]): Promise<WeatherHour[][]> {
  const spans: { from: number; to: number }[] = [];
  for (const ms of at.map((one) => one.getTime()).toSorted((a, b) => a - b)) {
    const last = spans.at(-1);
    if (last && ms - BEFORE_MS <= last.to) last.to = ms + AFTER_MS;
    else spans.push({ from: ms - BEFORE_MS, to: ms + AFTER_MS });
  }
  const read = await Promise.all(
    spans.map(({ from, to }) => weatherHoursBetween(lawnId, new Date(from), new Date(to))),
  );
  return at.map((one) => {
    const ms = one.getTime();
    return read[spans.findIndex(({ from, to }) => ms >= from && ms <= to)]!.filter(
      (hour) => hour.hourStartUtcMs >= ms - BEFORE_MS && hour.hourStartUtcMs < ms + AFTER_MS,
    );
  });
}

/** The film's drying by the model, for a spray of this lawn at another start or volume as well. */
export function dryingOf(
  lawn: Lawn,
  hours: readonly WeatherHour[],
  startUtcMs: number,
  carrierLPerHa: number,
): DryingResult | null {
  const place = placeOfLawn(lawn);
  if (place === null || hours.length === 0) return null;
  return dryingTime({ ...filmOnLawn(lawn, carrierLPerHa), startUtcMs }, hours, place, 24);
}

/** Minutes until dry; of a film that stayed wet, the minutes looked at; null where the model lacks weather. */
export function minutesOf(drying: DryingResult | null, startUtcMs: number): number | null {
  if (drying === null || drying.kind === 'unknown') return null;
  return drying.kind === 'does-not-dry' ? (drying.byUtcMs - startUtcMs) / 60_000 : drying.minutes;
}

/** Nutrients a spray put on the ground, as far as weights are known. */
export function nutrientsOfSpray(spray: Spray, products: ReadonlyMap<string, Product>): PerElement {
  return sumNutrients(
    spray.items.map((item) => {
      const product = products.get(item.productId);
      if (!product || item.rateKgPerHa === null) return NO_NUTRIENTS;
      return nutrientsIn(analysisOf(product), item.rateKgPerHa);
    }),
  );
}

function sunLeft(lawn: Lawn, at: Date): number | null {
  const place = placeOfLawn(lawn);
  if (place === null) return null;
  const [year = 0, month = 0, day = 0] = localOfInstant(at, lawn.timeZone).slice(0, 10).split('-').map(Number);
  const { sun } = sunDay({ year, month, day }, place.latitudeDeg, place.longitudeDeg);
  if (sun.kind === 'rises-and-sets') return Math.max(0, (sun.setUtcMs - at.getTime()) / HOUR_MS);
  return sun.kind === 'always-above' ? 24 : 0;
}

export function factsOfSpray(
  spray: Spray,
  lawn: Lawn,
  products: ReadonlyMap<string, Product>,
  hours: readonly WeatherHour[],
): SprayFacts {
  const at = spray.startedAt.getTime();
  const hour = hours.find((one) => one.hourStartUtcMs === hourStartOf(at));
  const airTempC = spray.airTempC ?? hour?.airTempC ?? null;
  const relHumidityPercent = spray.relHumidityPercent ?? hour?.relHumidityPercent ?? null;
  const carrierLPerHa = spray.carrierLPerHa;
  const day = hours
    .filter((one) => one.hourStartUtcMs >= hourStartOf(at) && one.hourStartUtcMs < at + 24 * HOUR_MS)
    .flatMap((one) => (one.airTempC === null ? [] : [one.airTempC]));
  const soon = hours.filter((one) => one.hourStartUtcMs >= hourStartOf(at) && one.hourStartUtcMs < at + 4 * HOUR_MS);
  return {
    nutrientsKgPerHa: nutrientsOfSpray(spray, products),
    solutionPercentWV: solutionPercentWV(dissolvedKgPerHa(spray, products), carrierLPerHa),
    carrierLPerHa,
    airTempC,
    relHumidityPercent,
    vpdKPa:
      airTempC === null || relHumidityPercent === null ? null : vapourPressureDeficitKPa(airTempC, relHumidityPercent),
    windMPerS: spray.windMPerS ?? hour?.windMPerS ?? null,
    dryingMinutes: carrierLPerHa === null ? null : minutesOf(dryingOf(lawn, hours, at, carrierLPerHa), at),
    sunLeftHours: sunLeft(lawn, spray.startedAt),
    maxTempNext24hC: day.length >= 12 ? Math.max(...day) : null,
    rainWithin4hMm:
      soon.length >= 4 && soon.every((one) => one.rainMm !== null)
        ? soon.reduce((sum, one) => sum + (one.rainMm ?? 0), 0)
        : null,
  };
}
