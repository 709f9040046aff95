import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { createSpray, findSpray, updateSpray, type Spray, type SprayItemInput } from '@/lib/diary/sprays';
import type { SprayEntry } from '@/lib/forms/spray-form';
import { amountForArea, doseFromRate } from '@/lib/spray/product-rate';
import { isDryTankRate, isLiquidTankRate, type Rate } from '@/lib/units/rate';
import { instantOfLocal } from './lawn-time';
import { attachWeather } from './spray-weather';

export type LogSprayResult = { ok: true; sprayId: string } | { ok: false; field: string; message: string };

/** A rate per area doesn't depend on the carrier volume: any will do where none is known. */
const anyCarrierLPerHa = 1;

const isTankRate = (rate: Rate) => isLiquidTankRate(rate) || isDryTankRate(rate);

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
    const rate = item.rate as Rate;
    if (carrierLPerHa === null && isTankRate(rate)) {
      return {
        ok: false,
        field: 'carrier',
        message: `Carrier volume: expected it for ${product.name}, whose rate is per tank volume (or a sprayer with a catch test), got nothing`,
      };
    }
    const dose = doseFromRate(product, rate, carrierLPerHa ?? anyCarrierLPerHa);
    if ('kind' in dose) return { ok: false, field: `items.${index}.rate`, message: dose.sentence };
    const amount = amountForArea(dose, areaM2);
    const earlier = before?.items.find((one) => one.productId === product.id);
    items.push({
      productId: product.id,
      rateEnteredValue: item.rate.value,
      rateEnteredUnit: item.rate.unit,
      rateKgPerHa: dose.massKgPerHa,
      rateLPerHa: dose.volumeLPerHa,
      actualKg: amount.massKg,
      actualL: amount.volumeL,
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
    // A plan knew its own water; a correction leaves it.
    waterPh: before?.plan ? before.waterPh : lawn.waterPh,
    waterAlkalinityMgPerLCaCO3: before?.plan ? before.waterAlkalinityMgPerLCaCO3 : lawn.waterAlkalinityMgPerLCaCO3,
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
