import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { listOutlines } from '@/lib/diary/outlines';
import { findPhoto, type Photo } from '@/lib/diary/photos';
import { findProducts, hasIronProducts, type Product } from '@/lib/diary/products';
import { findPlot } from '@/lib/diary/plots';
import { listSprayers } from '@/lib/diary/sprayers';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { lastMeasuredBefore, wasMeasuredFrom } from '@/lib/diary/trials';
import {
  dryingWhatIfSentence,
  findCauses,
  LINK_DAYS,
  type CauseReport,
  type MarkRecord,
  type SprayWhatIf,
} from '@/lib/explain/causes';
import { ironOf } from '@/lib/spray/mix-item';
import { passesOver } from '@/lib/spray/passes';
import { ATOMIC_WEIGHT } from '@/lib/units/atomic-weight';
import { CACO3_MG_PER_MEQ } from '@/lib/units/concentration';
import { showSpeed, showTemperature } from '@/lib/units/display';
import { hourStartOf, type WeatherHour } from '@/lib/weather/hour';
import { sharingGround } from './ground-of';
import { lawnRecord } from '../diary/lawn-record';
import { knownHours } from '../weather/known-hours';
import { windowLimitsOf } from '../weather/lawn-weather';
import { nextStart } from '../sprays/next-start';
import { markAndItsPatch, marksOfPhotos, type Mark, type PatchSighting } from './marks';
import { planAddress } from '../sprays/plan-address';
import { planPlot } from '../sprays/plan-facts';
import { planProduct } from '../sprays/plan-product';
import { testedCauses } from '../trials/test-a-cause';
import { upToDatePhotos } from './worked-out';
import {
  dryingOf,
  factsOfSpray,
  hoursAround,
  minutesOf,
  nutrientsOfSpray,
  type SprayFacts,
} from '../sprays/spray-facts';
import { dayText, momentText, timeText } from '@/lib/units/dates';
import { allAsRead, asRead, quantity } from '@/lib/units/quantity';

/** One thing to do otherwise, with the numbers the models give for it, and a plan that does it. */
export interface NextTime {
  whatIf: SprayWhatIf;
  /** Numbers from the drying model; null where it has nothing to say. */
  numbers: string | null;
  plan: string;
}

export interface MarkCauses {
  mark: Mark;
  photo: Photo;
  lawn: Lawn;
  /** All photos of the same patch, oldest first. */
  thread: readonly PatchSighting[];
  spray: Spray | null;
  /** Other sprays it may have arisen from, as far as the photos tell, newest first. */
  otherSprays: Spray[];
  /** The last photo that shows the plot without it; null when there is none. */
  clearAt: Date | null;
  /** Photos it rests on are being worked out. */
  pending: boolean;
  facts: SprayFacts | null;
  record: MarkRecord | null;
  report: CauseReport | null;
  nextTime: NextTime[];
  /** Everything the likely causes ask for, in one plan; null when nothing is to be changed. */
  combinedPlan: string | null;
}

/** No more sprays than these are looked through. */
const MOST_BACK = 1000;

/**
 * Gathers what the diary holds about a mark and weighs what may have made it. First seen is not arisen: it arose after
 * the last photo without it, so every spray from ten days before that photo on may have made it. The newest of them is
 * weighed, unless another is asked for.
 */
export async function causesOfMark(markId: string, sprayId?: string, now = new Date()): Promise<MarkCauses | null> {
  const found = await markAndItsPatch(markId);
  const mark = found?.mark;
  const photo = mark ? await findPhoto(mark.photoId) : null;
  const lawn = photo ? await findLawn(photo.lawnId) : null;
  if (!found || !mark || !photo || !lawn) return null;
  const thread = found.sightings;
  const firstSeenAt = thread[0]?.takenAt ?? mark.takenAt;
  // No photo of the patch is earlier than the one it was first seen in.
  const clearAt = await lastMeasuredBefore(mark.plotId, firstSeenAt);
  const restsOn = [...new Set([photo.id, ...photosOfThread(thread, mark)])];
  const upToDate = await upToDatePhotos(lawn.id, restsOn);
  const pending = restsOn.some((id) => !upToDate.has(id));
  const { known: ground } = await sharingGround(lawn.id, [mark.plotId]);
  const sprays = await spraysUpTo(lawn.id, ground, firstSeenAt, clearAt);
  const possible = sprays.filter(
    (spray) => clearAt === null || clearAt.getTime() - spray.startedAt.getTime() <= LINK_DAYS * DAY_MS,
  );
  const spray = possible.find((one) => one.id === sprayId) ?? possible[0] ?? sprays[0] ?? null;
  const common = {
    mark,
    photo,
    lawn,
    thread,
    spray,
    clearAt,
    pending,
    otherSprays: possible.filter((one) => one.id !== spray?.id),
  };
  if (spray === null) return { ...common, facts: null, record: null, report: null, nextTime: [], combinedPlan: null };
  const products = await findProducts(sprays.flatMap((one) => one.items.map((item) => item.productId)));
  const hours = await hoursAround(lawn.id, spray.startedAt);
  const facts = factsOfSpray(spray, lawn, products, hours);
  const record = await recordOf(
    lawn,
    mark,
    photo,
    { firstSeenAt, clearAt },
    spray,
    sprays.filter((one) => one.startedAt < spray.startedAt),
    facts,
    products,
  );
  const report = allAsRead(findCauses(record, windowLimitsOf(lawn)), lawn.unitSystem);
  const ideas =
    report.kind === 'findings'
      ? report.findings
          .filter((one) => one.strength === 'likely' || one.strength === 'possible')
          .flatMap((one) => one.whatIf.map((whatIf) => ({ whatIf, strength: one.strength })))
      : [];
  const unique = ideas.filter((idea, at) => ideas.findIndex((other) => other.whatIf.id === idea.whatIf.id) === at);
  const ahead = await knownHours(lawn.id, now, new Date(now.getTime() + 12 * DAY_MS));
  const done = (await listSprays(lawn.id, { plotIds: ground, limit: 100 })).filter((one) => one.state === 'done');
  const sprayed = await findProducts(done.flatMap((one) => one.items.map((item) => item.productId)));
  const lastIron = done.find((one) => one.items.some((item) => (sprayed.get(item.productId)?.fePercent ?? 0) > 0));
  const whenOf = (changes: readonly SprayWhatIf[]): string => {
    const most = (name: 'hoursLater' | 'waitDays') => Math.max(0, ...changes.map(({ change }) => change[name] ?? 0));
    const least = (name: 'maxTempC' | 'maxWindMPerS') =>
      changes.reduce<number | null>(
        (lowest, { change }) => (change[name] === undefined ? lowest : Math.min(lowest ?? Infinity, change[name])),
        null,
      );
    // What the iron was too soon by, added to how long it had been: the interval that is asked for.
    const waited =
      most('waitDays') > 0 && lastIron
        ? new Date(lastIron.startedAt.getTime() + ((record.daysSinceLastIron ?? 0) + most('waitDays')) * DAY_MS)
        : null;
    return nextStart(
      {
        sprayedAt: spray.startedAt,
        hoursLater: most('hoursLater'),
        notBefore: waited,
        maxTempC: least('maxTempC'),
        maxWindMPerS: least('maxWindMPerS'),
      },
      lawn.timeZone,
      ahead,
      now,
    );
  };
  const nextTime = unique.map(({ whatIf }) => ({
    whatIf,
    numbers: numbersFor(whatIf, lawn, hours, spray, facts),
    plan: planWith(spray, products, [whatIf], whenOf([whatIf])),
  }));
  const likely = unique.filter((idea) => idea.strength === 'likely').map((idea) => idea.whatIf);
  return {
    ...common,
    facts,
    record,
    report,
    nextTime,
    combinedPlan: likely.length > 0 ? planWith(spray, products, likely, whenOf(likely)) : null,
  };
}

/** Of a patch that was seen in more photos than these, its first and those around the mark are asked about. */
const MOST_SEEN = 24;

/** The photos of a patch that what is said of one of its marks rests on. */
function photosOfThread(thread: readonly PatchSighting[], mark: Mark): string[] {
  const at = Math.max(0, thread.findIndex((one) => one.id === mark.id) - MOST_SEEN / 4);
  const near =
    thread.length <= MOST_SEEN ? thread : [...thread.slice(0, MOST_SEEN / 2), ...thread.slice(at, at + MOST_SEEN / 2)];
  return near.map((one) => one.photoId);
}

/** As many sprays before a mark are read at first. */
const LOOK_BACK = 60;

/**
 * The sprays done on some plots until an instant, newest first: all that a mark may come from, and, further back, as
 * far as iron was last sprayed before them.
 */
async function spraysUpTo(
  lawnId: string,
  plotIds: readonly string[],
  until: Date,
  clearAt: Date | null,
): Promise<Spray[]> {
  const fromMs = clearAt === null ? -Infinity : clearAt.getTime() - LINK_DAYS * DAY_MS;
  const anyIron = await hasIronProducts();
  const found: Spray[] = [];
  for (
    let before = new Date(until.getTime() + 1), size = LOOK_BACK;
    found.length < MOST_BACK;
    size = MOST_BACK - found.length
  ) {
    const part = await listSprays(lawnId, { plotIds, before, limit: size });
    found.push(...part);
    const last = part.at(-1);
    if (part.length < size || !last) break;
    const older = found
      .filter((one) => one.state === 'done')
      .slice(1)
      .filter((one) => one.startedAt.getTime() < fromMs);
    if (older.length > 0 && !anyIron) break;
    const products =
      older.length === 0
        ? new Map<string, Product>()
        : await findProducts(older.flatMap((one) => one.items.map((item) => item.productId)));
    if (older.some((one) => nutrientsOfSpray(one, products).Fe > 0)) break;
    before = last.startedAt;
  }
  return found.filter((spray) => spray.state === 'done');
}

/** The product that brought most of a spray's iron. */
function ironItem(spray: Spray, products: ReadonlyMap<string, Product>) {
  const iron = (item: Spray['items'][number]) =>
    ((products.get(item.productId)?.fePercent ?? 0) / 100) * (item.rateKgPerHa ?? 0);
  const most = [...spray.items].sort((a, b) => iron(b) - iron(a))[0];
  return most && iron(most) > 0 ? (products.get(most.productId) ?? null) : null;
}

async function recordOf(
  lawn: Lawn,
  mark: Mark,
  photo: Photo,
  { firstSeenAt, clearAt }: { firstSeenAt: Date; clearAt: Date | null },
  spray: Spray,
  earlier: readonly Spray[],
  facts: SprayFacts,
  products: ReadonlyMap<string, Product>,
): Promise<MarkRecord> {
  const [outlines, beside, photoBefore] = await Promise.all([
    listOutlines(photo.id),
    marksOfPhotos(photo.lawnId, [photo.id]),
    wasMeasuredFrom(photo.viewpointId, mark.plotId, spray.startedAt),
  ]);
  const check = outlines.find((outline) => outline.isCheck && outline.accepted && outline.plotId !== mark.plotId);
  const lastIron = earlier.find((one) => nutrientsOfSpray(one, products).Fe > 0);
  const iron = ironItem(spray, products);
  const maxKgPerHa =
    iron === null
      ? null
      : (iron.labelMaxRateKgPerHa ??
        (iron.labelMaxRateLPerHa !== null && iron.densityKgPerL !== null
          ? iron.labelMaxRateLPerHa * iron.densityKgPerL
          : null));
  const used = spray.items.flatMap((item) => products.get(item.productId) ?? []);
  const planned = used.map((product) => ({ ...planProduct(product), dose: { massKgPerHa: null, volumeLPerHa: null } }));
  const leastCarriers = used.flatMap((product) => product.labelLeastCarrierLPerHa ?? []);
  const { wateredWithin4hMm, ...ofTheLawn } = await lawnRecord(lawn, mark.plotId, spray.startedAt, firstSeenAt);
  const tested = await testedCauses(lawn.id, mark);
  const hardness = spray.waterHardnessMgPerLCaCO3 ?? lawn.waterHardnessMgPerLCaCO3;
  return {
    ...ofTheLawn,
    tested,
    kind: mark.kind,
    daysAfterSpray: (firstSeenAt.getTime() - spray.startedAt.getTime()) / DAY_MS,
    clearUntilDays:
      clearAt === null || clearAt < spray.startedAt ? null : (clearAt.getTime() - spray.startedAt.getTime()) / DAY_MS,
    seenBeforeSpray: mark.isNew ? (photoBefore ? false : null) : true,
    alsoOnCheck: check
      ? beside.some((other) => other.plotId === check.plotId && other.kind === mark.kind && other.state !== 'dismissed')
      : null,
    ironKgPerHa: spray.items.every(
      (item) => item.rateKgPerHa !== null || (products.get(item.productId)?.fePercent ?? 0) === 0,
    )
      ? facts.nutrientsKgPerHa.Fe
      : null,
    labelMaxIronKgPerHa: iron === null || maxKgPerHa === null ? null : (maxKgPerHa * iron.fePercent) / 100,
    daysSinceLastIron: lastIron ? (spray.startedAt.getTime() - lastIron.startedAt.getTime()) / DAY_MS : null,
    labelMinIntervalDays: iron?.minIntervalDays ?? null,
    nitrogenKgPerHa: facts.nutrientsKgPerHa.N,
    solutionPercentWV: facts.solutionPercentWV,
    carrierLPerHa: facts.carrierLPerHa,
    labelMinCarrierLPerHa: leastCarriers.length === 0 ? null : Math.max(...leastCarriers),
    dryingMinutes: facts.dryingMinutes,
    airTempC: facts.airTempC,
    maxTempNext24hC: facts.maxTempNext24hC,
    windMPerS: facts.windMPerS,
    surfactant: planned.some((product) => product.mixingKind === 'surfactant' || product.roles.includes('surfactant')),
    ammoniumSalt: used.some((product) => product.nAmmoniacalPercent > 0),
    sunLeftHours: facts.sunLeftHours,
    ironWithPhosphate:
      planned.some((product) => ironOf(product) === 'salt') && used.some((product) => product.p2o5Percent > 0),
    tankPh: spray.measuredPh ?? spray.predictedPh,
    overlapShare: await overlapOf(spray, mark.plotId),
    waterWithin4hMm:
      wateredWithin4hMm === null ? facts.rainWithin4hMm : (facts.rainWithin4hMm ?? 0) + wateredWithin4hMm,
    hardnessMgPerLCaCO3: hardness,
    gypsumMmolPerL:
      facts.carrierLPerHa === null || hardness === null
        ? null
        : gypsumMean(facts.nutrientsKgPerHa, facts.carrierLPerHa, hardness),
  };
}

/** Geometric mean of calcium and sulfate in the tank, mmol/L, all hardness taken as calcium. */
function gypsumMean(
  nutrientsKgPerHa: SprayFacts['nutrientsKgPerHa'],
  carrierLPerHa: number,
  hardnessMgPerLCaCO3: number,
): number {
  const mmol = (kgPerHa: number, gPerMol: number): number => (kgPerHa * 1e6) / carrierLPerHa / gPerMol;
  const calcium = mmol(nutrientsKgPerHa.Ca, ATOMIC_WEIGHT.Ca) + hardnessMgPerLCaCO3 / (2 * CACO3_MG_PER_MEQ);
  return Math.sqrt(calcium * mmol(nutrientsKgPerHa.S, ATOMIC_WEIGHT.S));
}

/** Share of a plot that whole passes of the sprayer's swath cover twice; null when swath or shape isn't known. */
async function overlapOf(spray: Spray, plotId: string): Promise<number | null> {
  const plot = await findPlot(plotId);
  const swathM = (await listSprayers(spray.lawnId)).find((one) => one.id === spray.sprayerId)?.swathM ?? null;
  if (plot === null || swathM === null) return null;
  const { lengthM, widthM } = planPlot(plot);
  if (lengthM === null || widthM === null || lengthM <= 0 || widthM <= 0) return null;
  const { surplusShare } = passesOver(
    { lengthM: Math.max(lengthM, widthM), widthM: Math.min(lengthM, widthM) },
    swathM,
    1,
  );
  return Math.min(1, Math.max(0, surplusShare));
}

/** What the models say to a what-if, for the same spray in the weather that was. */
function numbersFor(
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
function planWith(
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
