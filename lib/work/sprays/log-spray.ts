import 'server-only';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { listPlotGrounds, listPlots, type Plot } from '@/lib/diary/plots';
import { findProducts, listProducts, type Product } from '@/lib/diary/products';
import { listSprayers, type Sprayer } from '@/lib/diary/sprayers';
import { createSpray, findSpray, updateSpray, type Spray, type SprayItemInput } from '@/lib/diary/sprays';
import type { SprayedItem, SprayEntry } from '@/lib/forms/spray-form';
import { groundChecks } from '@/lib/plan/plan-checks';
import { amountForArea, doseFromRate } from '@/lib/spray/product-rate';
import { overlapsAmong } from '@/lib/trial/plot-ground';
import { showArea, showMass, showVolume } from '@/lib/units/display';
import { type MassUnit, toKg } from '@/lib/units/mass';
import { type DryAreaRate, isDryTankRate, isLiquidTankRate, type LiquidAreaRate, type Rate } from '@/lib/units/rate';
import { toL, VOLUME_UNITS, type VolumeUnit } from '@/lib/units/volume';
import { instantOfLocal } from '../diary/lawn-time';
import { notYet, tooLong } from '../diary/not-yet';
import { attachWeather } from '../weather/spray-weather';

export type LogSprayResult = { ok: true; sprayId: string } | { ok: false; field: string; message: string };

/** A rate per area doesn't depend on the carrier volume: any will do where none is known. */
const anyCarrierLPerHa = 1;

const isTankRate = (rate: Rate) => isLiquidTankRate(rate) || isDryTankRate(rate);

type Earlier = Spray['items'][number];

/** What was planned stays with the spray when it is corrected. */
function plannedOf(earlier: Earlier | undefined): Pick<SprayItemInput, 'plannedKg' | 'plannedL'> {
  return { plannedKg: earlier?.plannedKg ?? null, plannedL: earlier?.plannedL ?? null };
}

/**
 * What went into the tank in all, as a rate on the ground it went to: by volume where a volume was typed, else by
 * weight.
 */
function rateOfTotal(
  { value, unit }: { value: number; unit: MassUnit | VolumeUnit },
  areaM2: number,
): LiquidAreaRate | DryAreaRate {
  const perHa = (amount: number) => Number(((amount / areaM2) * 10_000).toPrecision(9));
  const volume = VOLUME_UNITS.find((one) => one === unit);
  return volume === undefined
    ? { value: perHa(toKg({ value, unit: unit as MassUnit })), unit: 'kg/ha' }
    : { value: perHa(toL({ value, unit: volume })), unit: 'L/ha' };
}

/** The product that brings so much nitrogen, by weight on the ground. */
function rateOfNitrogen(nitrogen: DryAreaRate, nPercent: number): DryAreaRate {
  return { value: Number(((nitrogen.value * 100) / nPercent).toPrecision(9)), unit: nitrogen.unit };
}

const nitrogenOf = ({ nAmmoniacalPercent, nNitratePercent, nUreaPercent, nOtherPercent }: Product): number =>
  nAmmoniacalPercent + nNitratePercent + nUreaPercent + nOtherPercent;

/** What was typed of a product as a rate; an amount in all or a nitrogen rate becomes one. */
function askedRate(item: SprayedItem, product: Product, areaM2: number): Rate {
  const asked =
    'total' in item
      ? rateOfTotal(item.total, areaM2)
      : 'nitrogen' in item
        ? rateOfNitrogen(item.nitrogen, nitrogenOf(product))
        : item.rate;
  return asked as Rate;
}

const isSameRate = (earlier: Earlier, rate: { value: number; unit: string }) =>
  rate.unit === earlier.rateEnteredUnit &&
  Math.abs(rate.value - earlier.rateEnteredValue) <= Math.abs(earlier.rateEnteredValue) * 1e-9;

/** Amounts that were measured out stay as recorded while rate and plots stay the same. */
function recordedOf(earlier: Earlier): Partial<SprayItemInput> {
  const { actualKg, actualL, actualEnteredValue, actualEnteredUnit, rateKgPerHa, rateLPerHa } = earlier;
  return { actualKg, actualL, actualEnteredValue, actualEnteredUnit, rateKgPerHa, rateLPerHa };
}

/**
 * Mix that went out or is left differs so many times from what the carrier volume asks for before it is asked about.
 */
const UNLIKELY_TIMES = 3;

/**
 * What in an entry can be right but is unlikely, a sentence each: the check among its plots, ground that is counted
 * twice, amounts of mix that don't go with the area and the carrier volume.
 * @param sprayId of a correction: ground that was said before isn't asked about again
 */
export async function doubtsOfSpray(lawnId: string, entry: SprayEntry, sprayId?: string): Promise<string[]> {
  const [lawn, plots, grounds, sprayers, products, before] = await Promise.all([
    findLawn(lawnId),
    listPlots(lawnId),
    listPlotGrounds(lawnId),
    listSprayers(lawnId),
    listProducts(),
    sprayId === undefined ? null : findSpray(sprayId),
  ]);
  const said = new Set(before?.plots.map((one) => one.plotId));
  const ground = entry.plotIds.every((id) => said.has(id))
    ? []
    : groundChecks({
        plots: plots.filter((plot) => entry.plotIds.includes(plot.id)),
        overlaps: overlapsAmong(entry.plotIds, grounds),
      }).map((check) => check.sentence);
  return [...ground, ...doubtsOfMix(lawn, plots, sprayers, products, entry)];
}

function doubtsOfMix(
  lawn: Lawn | null,
  plots: readonly Plot[],
  sprayers: readonly Sprayer[],
  products: readonly Product[],
  entry: SprayEntry,
): string[] {
  const areaM2 = plots.filter((plot) => entry.plotIds.includes(plot.id)).reduce((sum, plot) => sum + plot.areaM2, 0);
  if (!lawn || areaM2 === 0) return [];
  const carrierLPerHa =
    entry.carrierLPerHa ?? sprayers.find((sprayer) => sprayer.id === entry.sprayerId)?.carrierLPerHa ?? null;
  const { actualVolumeL, leftoverL } = entry;
  const neededL = carrierLPerHa === null ? null : (carrierLPerHa * areaM2) / 10_000;
  const outL = neededL === null ? actualVolumeL : Math.max(neededL, actualVolumeL ?? 0);
  const shown = (volumeL: number) => showVolume(volumeL, lawn.unitSystem).text;
  const isOff = (volumeL: number, wantedL: number) =>
    volumeL > UNLIKELY_TIMES * wantedL || volumeL < wantedL / UNLIKELY_TIMES;
  return [
    ...(actualVolumeL !== null && neededL !== null && isOff(actualVolumeL, neededL)
      ? [
          `Volume sprayed: ${shown(actualVolumeL)} on ${showArea(areaM2, lawn.unitSystem).text}, where the carrier volume asks for ${shown(neededL)}.`,
        ]
      : []),
    ...(leftoverL !== null && outL !== null && leftoverL > UNLIKELY_TIMES * outL
      ? [`Left in the tank: ${shown(leftoverL)} of a mix of which ${shown(actualVolumeL ?? outL)} was to go out.`]
      : []),
    ...(outL === null ? [] : moreThanMix(products, entry, areaM2, outL + (leftoverL ?? 0), lawn)),
  ];
}

/** Products of which more would have gone out than the mix they went out in: a slip of unit or point. */
function moreThanMix(
  products: readonly Product[],
  entry: SprayEntry,
  areaM2: number,
  mixL: number,
  { unitSystem }: Lawn,
): string[] {
  return entry.items.flatMap((item) => {
    const product = products.find((one) => one.id === item.productId);
    // What can't be reckoned is refused in its own sentence, later.
    if (product && 'nitrogen' in item && nitrogenOf(product) === 0) return [];
    const rate = product && askedRate(item, product, areaM2);
    const dose = rate && !isTankRate(rate) ? doseFromRate(product, rate, anyCarrierLPerHa) : null;
    if (!product || dose === null || 'kind' in dose) return [];
    const { massKg, volumeL } = amountForArea(dose, areaM2);
    // A litre of product weighs a kilogram or more.
    if ((volumeL ?? massKg ?? 0) <= mixL) return [];
    const amount = volumeL === null ? showMass(massKg ?? 0, unitSystem) : showVolume(volumeL, unitSystem);
    return [`${product.name}: ${amount.text} in all, more than the ${showVolume(mixL, unitSystem).text} of mix.`];
  });
}

/** What a plan said of the weather stays with its spray until somebody types or the hours come. */
const weatherOf = ({ airTempC, relHumidityPercent, windMPerS, weatherSource }: Spray) => ({
  airTempC,
  relHumidityPercent,
  windMPerS,
  weatherSource,
});

/** The water it was mixed with, as it was known when it was planned or first written down. */
const waterOf = (before: Spray | null, lawn: Lawn): Pick<Spray, 'waterPh' | 'waterAlkalinityMgPerLCaCO3'> => {
  const known = before !== null && (before.plan !== null || before.waterPh !== null);
  const { waterPh, waterAlkalinityMgPerLCaCO3 } = known ? before : lawn;
  return { waterPh, waterAlkalinityMgPerLCaCO3 };
};

/** Writes a spray that was done into the diary (or over the one named). */
export async function logSpray(
  lawnId: string,
  entry: SprayEntry,
  sprayId?: string,
  now = new Date(),
): Promise<LogSprayResult> {
  const lawn = await findLawn(lawnId);
  if (!lawn)
    return {
      ok: false,
      field: 'startedLocal',
      message: 'Lawn: expected a lawn of this diary, got one that is not there any more',
    };
  const [plots, products, sprayers] = await Promise.all([listPlots(lawnId), listProducts(), listSprayers(lawnId)]);
  const startedAt = instantOfLocal(entry.startedLocal, lawn.timeZone);
  const endedAt = entry.endedLocal === null ? null : instantOfLocal(entry.endedLocal, lawn.timeZone);
  const early = notYet('Start', entry.startedLocal, startedAt, now, '; plan it, and write it down once it is done');
  if (early) return { ok: false, field: 'startedLocal', message: early };
  const wrongEnd =
    endedAt === null
      ? null
      : (notYet('End', entry.endedLocal ?? '', endedAt, now) ?? tooLong(startedAt, endedAt, entry.endedLocal ?? ''));
  if (wrongEnd) return { ok: false, field: 'endedLocal', message: wrongEnd };
  const before = sprayId === undefined ? null : await findSpray(sprayId);
  // A plot or product that has gone since stays with the spray that had it.
  const gone = (before?.plots ?? [])
    .filter((one) => plots.every((plot) => plot.id !== one.plotId))
    .map(({ plotId, areaM2 }) => ({ id: plotId, areaM2 }));
  // A plot that was measured anew since was sprayed as it was then.
  const areaOf = new Map((before?.plots ?? []).map((one) => [one.plotId, one.areaM2]));
  const covered = [...plots, ...gone]
    .filter((plot) => entry.plotIds.includes(plot.id))
    .map(({ id, areaM2 }) => ({ id, areaM2: areaOf.get(id) ?? areaM2 }));
  if (covered.length !== entry.plotIds.length) {
    return {
      ok: false,
      field: 'plotIds',
      message: 'Plots: expected plots of this lawn, got one that is not there any more',
    };
  }
  const sprayer = sprayers.find((candidate) => candidate.id === entry.sprayerId) ?? null;
  // A catch test made since says nothing of it.
  const carrierThen = before && before.sprayerId === (sprayer?.id ?? null) && before.carrierEnteredValue === null;
  const carrierLPerHa =
    entry.carrierLPerHa ?? (carrierThen ? before.carrierLPerHa : null) ?? sprayer?.carrierLPerHa ?? null;
  if (sprayer && entry.leftoverL !== null && entry.leftoverL > sprayer.tankL * 1.05) {
    const shown = (volumeL: number) => showVolume(volumeL, lawn.unitSystem).text;
    return {
      ok: false,
      field: 'leftover',
      message: `Left in the tank: expected at most the ${shown(sprayer.tankL)} that ${sprayer.name} holds, got ${shown(entry.leftoverL)}`,
    };
  }
  const areaM2 = covered.reduce((sum, plot) => sum + plot.areaM2, 0);

  const used = await findProducts((before?.items ?? []).map((item) => item.productId));
  const sameGround =
    before !== null &&
    before.plots.length === covered.length &&
    before.plots.every((plot) => entry.plotIds.includes(plot.plotId));

  const items: SprayItemInput[] = [];
  for (const [index, item] of entry.items.entries()) {
    const product = products.find((candidate) => candidate.id === item.productId) ?? used.get(item.productId);
    if (!product)
      return {
        ok: false,
        field: `items.${index}.productId`,
        message: 'Product: expected one from the shelf, got one that is not there any more',
      };
    if ('nitrogen' in item && nitrogenOf(product) === 0)
      return {
        ok: false,
        field: `items.${index}.rate`,
        message: `Nitrogen of ${product.name}: expected a product with nitrogen in its analysis, got one without`,
      };
    const rate = askedRate(item, product, areaM2);
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
      rateEnteredValue: rate.value,
      rateEnteredUnit: rate.unit,
      rateKgPerHa: dose.massKgPerHa,
      rateLPerHa: dose.volumeLPerHa,
      actualKg: amount.massKg,
      actualL: amount.volumeL,
      ...('total' in item ? { actualEnteredValue: item.total.value, actualEnteredUnit: item.total.unit } : {}),
      ...plannedOf(earlier),
      ...(earlier && sameGround && isSameRate(earlier, rate) ? recordedOf(earlier) : {}),
    });
  }

  const weatherTyped = entry.airTempC !== null || entry.windMPerS !== null || entry.relHumidityPercent !== null;
  const windStays = before?.weatherSource === 'typed' && before.windMPerS !== null && entry.windMPerS !== null;
  const fields = {
    state: 'done',
    startedAt,
    endedAt,
    sprayerId: sprayer?.id ?? null,
    carrierLPerHa,
    carrierEnteredValue: entry.carrierEnteredValue,
    carrierEnteredUnit: entry.carrierEnteredUnit,
    actualVolumeL: entry.actualVolumeL,
    leftoverL: entry.leftoverL,
    measuredPh: entry.measuredPh,
    // A correction leaves its water as it was known then.
    ...waterOf(before, lawn),
    airTempC: entry.airTempC,
    relHumidityPercent: entry.relHumidityPercent,
    windMPerS: entry.windMPerS,
    windFromDeg: windStays ? before.windFromDeg : null,
    rainBeforeMm: null,
    weatherSource: weatherTyped ? 'typed' : null,
    ...(before?.weatherSource === 'plan' && !weatherTyped ? weatherOf(before) : {}),
    applicator: entry.applicator,
    note: entry.note,
  };
  const where = covered.map((plot) => ({ plotId: plot.id, areaM2: plot.areaM2 }));
  const spray = await (sprayId
    ? updateSpray(sprayId, fields, items, where)
    : createSpray(lawnId, fields, items, where));
  if (fields.weatherSource !== 'typed') await attachWeather(lawnId, spray.startedAt, spray.startedAt);
  return { ok: true, sprayId: spray.id };
}
