import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { listProducts, type Product } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { createSpray, findSpray, updateSpray, type Spray, type SprayItemInput } from '@/lib/diary/sprays';
import type { SprayEntry } from '@/lib/forms/spray-form';
import { isDryAreaRate, isDryTankRate, isLiquidAreaRate, isLiquidTankRate, toGPerL, toKgPerHa, toLPerHa, toMlPerL, type Rate } from '@/lib/units/rate';
import { instantOfLocal } from './lawn-time';
import { attachWeather } from './spray-weather';

export type LogSprayResult = { ok: true; sprayId: string } | { ok: false; field: string; message: string };

const litresPerMillilitre = 0.001;
const kilogramsPerGram = 0.001;

/**
 * A typed rate as mass and volume of product an area. Tank rates need the carrier volume; mass and volume go over into
 * each other by density where it is known, else one of them stays null.
 */
export function ratePerArea(
  rate: Rate,
  product: Pick<Product, 'densityKgPerL' | 'form'>,
  carrierLPerHa: number | null,
): { rateKgPerHa: number | null; rateLPerHa: number | null } | { missing: 'carrier' } {
  let rateKgPerHa: number | null = null;
  let rateLPerHa: number | null = null;
  if (isLiquidAreaRate(rate)) rateLPerHa = toLPerHa(rate);
  else if (isDryAreaRate(rate)) rateKgPerHa = toKgPerHa(rate);
  else if (carrierLPerHa === null) return { missing: 'carrier' };
  else if (isLiquidTankRate(rate)) rateLPerHa = toMlPerL(rate) * litresPerMillilitre * carrierLPerHa;
  else if (isDryTankRate(rate)) rateKgPerHa = toGPerL(rate) * kilogramsPerGram * carrierLPerHa;
  const density = product.densityKgPerL;
  if (rateKgPerHa === null && rateLPerHa !== null && density !== null) rateKgPerHa = rateLPerHa * density;
  if (rateLPerHa === null && rateKgPerHa !== null && density !== null && product.form === 'liquid') rateLPerHa = rateKgPerHa / density;
  return { rateKgPerHa, rateLPerHa };
}

type Earlier = Spray['items'][number];

/** What was planned stays with the spray when it is corrected. */
function plannedOf(earlier: Earlier | undefined): Pick<SprayItemInput, 'plannedKg' | 'plannedL'> {
  return { plannedKg: earlier?.plannedKg ?? null, plannedL: earlier?.plannedL ?? null };
}

const isSameRate = (earlier: Earlier, rate: { value: number; unit: string }) =>
  rate.unit === earlier.rateEnteredUnit && Math.abs(rate.value - earlier.rateEnteredValue) <= Math.abs(earlier.rateEnteredValue) * 1e-9;

/** Amounts that were measured out stay as recorded while rate and plots stay the same. */
function recordedOf(earlier: Earlier): Partial<SprayItemInput> {
  const { actualKg, actualL, actualEnteredValue, actualEnteredUnit, rateKgPerHa, rateLPerHa } = earlier;
  return { actualKg, actualL, actualEnteredValue, actualEnteredUnit, rateKgPerHa, rateLPerHa };
}

/** Writes a spray that was done into the diary (or over the one named). */
export async function logSpray(lawnId: string, entry: SprayEntry, sprayId?: string): Promise<LogSprayResult> {
  const lawn = await findLawn(lawnId);
  if (!lawn) return { ok: false, field: 'startedLocal', message: 'Lawn: expected a lawn of this diary, got one that is not there any more' };
  const [plots, products, sprayers] = await Promise.all([listPlots(lawnId), listProducts(), listSprayers(lawnId)]);
  const covered = plots.filter((plot) => entry.plotIds.includes(plot.id));
  if (covered.length !== entry.plotIds.length) {
    return { ok: false, field: 'plotIds', message: 'Plots: expected plots of this lawn, got one that is not there any more' };
  }
  const sprayer = sprayers.find((candidate) => candidate.id === entry.sprayerId) ?? null;
  const carrierLPerHa = entry.carrierLPerHa ?? sprayer?.carrierLPerHa ?? null;
  const areaM2 = covered.reduce((sum, plot) => sum + plot.areaM2, 0);

  const before = sprayId === undefined ? null : await findSpray(sprayId);
  const sameGround = before !== null && before.plots.length === covered.length && before.plots.every((plot) => entry.plotIds.includes(plot.plotId));

  const items: SprayItemInput[] = [];
  for (const [index, item] of entry.items.entries()) {
    const product = products.find((candidate) => candidate.id === item.productId);
    if (!product) return { ok: false, field: `items.${index}.productId`, message: 'Product: expected one from the shelf, got one that is not there any more' };
    const rate = ratePerArea(item.rate as Rate, product, carrierLPerHa);
    if ('missing' in rate) {
      return {
        ok: false,
        field: 'carrier',
        message: `Carrier volume: expected it for ${product.name}, whose rate is per tank volume (or a sprayer with a catch test), got nothing`,
      };
    }
    const hectares = areaM2 / 10_000;
    const earlier = before?.items.find((one) => one.productId === product.id);
    items.push({
      productId: product.id,
      rateEnteredValue: item.rate.value,
      rateEnteredUnit: item.rate.unit,
      ...rate,
      actualKg: rate.rateKgPerHa === null ? null : rate.rateKgPerHa * hectares,
      actualL: rate.rateLPerHa === null ? null : rate.rateLPerHa * hectares,
      ...plannedOf(earlier),
      ...(earlier && sameGround && isSameRate(earlier, item.rate) ? recordedOf(earlier) : {}),
    });
  }

  const fields = {
    state: 'done',
    startedAt: instantOfLocal(entry.startedLocal, lawn.timeZone),
    endedAt: entry.endedLocal === null ? null : instantOfLocal(entry.endedLocal, lawn.timeZone),
    sprayerId: sprayer?.id ?? null,
    carrierLPerHa,
    carrierEnteredValue: entry.carrierEnteredValue,
    carrierEnteredUnit: entry.carrierEnteredUnit,
    actualVolumeL: entry.actualVolumeL,
    leftoverL: entry.leftoverL,
    measuredPh: entry.measuredPh,
    waterPh: lawn.waterPh,
    waterAlkalinityMgPerLCaCO3: lawn.waterAlkalinityMgPerLCaCO3,
    airTempC: entry.airTempC,
    relHumidityPercent: entry.relHumidityPercent,
    windMPerS: entry.windMPerS,
    windFromDeg: null,
    rainBeforeMm: null,
    weatherSource: entry.airTempC !== null || entry.windMPerS !== null || entry.relHumidityPercent !== null ? 'typed' : null,
    applicator: entry.applicator,
    note: entry.note,
  };
  const where = covered.map((plot) => ({ plotId: plot.id, areaM2: plot.areaM2 }));
  const spray = await (sprayId ? updateSpray(sprayId, fields, items, where) : createSpray(lawnId, fields, items, where));
  if (fields.weatherSource === null) await attachWeather(lawnId, spray.startedAt, spray.startedAt);
  return { ok: true, sprayId: spray.id };
}
