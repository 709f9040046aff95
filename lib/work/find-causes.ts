import 'server-only';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { findMark, marksOfPhoto, marksOfThread, type Mark } from '@/lib/diary/marks';
import { listOutlines } from '@/lib/diary/outlines';
import { findPhoto, type Photo } from '@/lib/diary/photos';
import { findProducts, type Product } from '@/lib/diary/products';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { readingsOfPlots } from '@/lib/diary/trials';
import { dryingWhatIfSentence, findCauses, type CauseReport, type MarkRecord, type WhatIf } from '@/lib/trial/causes';
import { HOUR_MS, type WeatherHour } from '@/lib/weather/hour';
import { sharingGround } from './ground-of';
import { localOfInstant } from './lawn-time';
import { planAddress } from './plan-address';
import { dryingOf, factsOfSpray, hoursAround, minutesOf, nutrientsOfSpray, type SprayFacts } from './spray-facts';

/** One thing to do otherwise, with the numbers the models give for it, and a plan that does it. */
export interface NextTime {
  whatIf: WhatIf;
  /** Numbers from the drying model; null where it has nothing to say. */
  numbers: string | null;
  plan: string;
}

export interface MarkCauses {
  mark: Mark;
  photo: Photo;
  lawn: Lawn;
  /** All photos of the same patch, oldest first. */
  thread: Mark[];
  spray: Spray | null;
  facts: SprayFacts | null;
  record: MarkRecord | null;
  report: CauseReport | null;
  nextTime: NextTime[];
  /** Everything the likely causes ask for, in one plan; null when nothing is to be changed. */
  combinedPlan: string | null;
}

const DAY_MS = 24 * HOUR_MS;

/** Gathers what the diary holds about a mark and weighs what may have made it. */
export async function causesOfMark(markId: string): Promise<MarkCauses | null> {
  const mark = await findMark(markId);
  const photo = mark ? await findPhoto(mark.photoId) : null;
  const lawn = photo ? await findLawn(photo.lawnId) : null;
  if (!mark || !photo || !lawn) return null;
  const thread = await marksOfThread(mark.threadId);
  const firstSeenAt = thread[0]?.takenAt ?? mark.takenAt;
  const { known: ground } = await sharingGround(lawn.id, [mark.plotId]);
  const sprays = (await listSprays(lawn.id, { plotIds: ground, limit: 1000 })).filter((spray) => spray.state === 'done' && spray.startedAt <= firstSeenAt);
  const spray = sprays[0] ?? null;
  if (spray === null) return { mark, photo, lawn, thread, spray, facts: null, record: null, report: null, nextTime: [], combinedPlan: null };
  const products = await findProducts(sprays.flatMap((one) => one.items.map((item) => item.productId)));
  const hours = await hoursAround(lawn.id, spray.startedAt);
  const facts = factsOfSpray(spray, lawn, products, hours);
  const record = await recordOf(mark, photo, firstSeenAt, spray, sprays.slice(1), facts, products);
  const report = findCauses(record);
  const ideas = report.kind === 'findings' ? report.findings.filter((one) => one.strength !== 'unlikely').flatMap((one) => one.whatIf.map((whatIf) => ({ whatIf, strength: one.strength }))) : [];
  const unique = ideas.filter((idea, at) => ideas.findIndex((other) => other.whatIf.id === idea.whatIf.id) === at);
  const nextTime = unique.map(({ whatIf }) => ({ whatIf, numbers: numbersFor(whatIf, lawn, hours, spray, facts), plan: planWith(spray, products, [whatIf]) }));
  const likely = unique.filter((idea) => idea.strength === 'likely').map((idea) => idea.whatIf);
  return { mark, photo, lawn, thread, spray, facts, record, report, nextTime, combinedPlan: likely.length > 0 ? planWith(spray, products, likely) : null };
}

/** The product that brought most of a spray's iron. */
function ironItem(spray: Spray, products: ReadonlyMap<string, Product>) {
  const iron = (item: Spray['items'][number]) => ((products.get(item.productId)?.fePercent ?? 0) / 100) * (item.rateKgPerHa ?? 0);
  const most = [...spray.items].sort((a, b) => iron(b) - iron(a))[0];
  return most && iron(most) > 0 ? (products.get(most.productId) ?? null) : null;
}

async function recordOf(mark: Mark, photo: Photo, firstSeenAt: Date, spray: Spray, earlier: readonly Spray[], facts: SprayFacts, products: ReadonlyMap<string, Product>): Promise<MarkRecord> {
  const [outlines, beside, readings] = await Promise.all([listOutlines(photo.id), marksOfPhoto(photo.id), readingsOfPlots([mark.plotId])]);
  const check = outlines.find((outline) => outline.isCheck && outline.accepted && outline.plotId !== mark.plotId);
  const photoBefore = readings.some((reading) => reading.takenAt < spray.startedAt && reading.photo.viewpointId === photo.viewpointId);
  const lastIron = earlier.find((one) => nutrientsOfSpray(one, products).Fe > 0);
  const iron = ironItem(spray, products);
  const maxKgPerHa = iron === null ? null : (iron.labelMaxRateKgPerHa ?? (iron.labelMaxRateLPerHa !== null && iron.densityKgPerL !== null ? iron.labelMaxRateLPerHa * iron.densityKgPerL : null));
  const used = spray.items.flatMap((item) => products.get(item.productId) ?? []);
  return {
    kind: mark.kind,
    daysAfterSpray: (firstSeenAt.getTime() - spray.startedAt.getTime()) / DAY_MS,
    seenBeforeSpray: mark.isNew ? (photoBefore ? false : null) : true,
    alsoOnCheck: check ? beside.some((other) => other.plotId === check.plotId && other.kind === mark.kind && other.state !== 'dismissed') : null,
    ironKgPerHa: spray.items.every((item) => item.rateKgPerHa !== null || (products.get(item.productId)?.fePercent ?? 0) === 0) ? facts.nutrientsKgPerHa.Fe : null,
    labelMaxIronKgPerHa: iron === null || maxKgPerHa === null ? null : (maxKgPerHa * iron.fePercent) / 100,
    daysSinceLastIron: lastIron ? (spray.startedAt.getTime() - lastIron.startedAt.getTime()) / DAY_MS : null,
    labelMinIntervalDays: iron?.minIntervalDays ?? null,
    nitrogenKgPerHa: facts.nutrientsKgPerHa.N,
    solutionPercentWV: facts.solutionPercentWV,
    carrierLPerHa: facts.carrierLPerHa,
    labelMinCarrierLPerHa: null,
    dryingMinutes: facts.dryingMinutes,
    airTempC: facts.airTempC,
    maxTempNext24hC: facts.maxTempNext24hC,
    windMPerS: facts.windMPerS,
    surfactant: used.some((product) => product.role === 'surfactant'),
    ammoniumSalt: used.some((product) => product.nAmmoniacalPercent > 0),
    sunLeftHours: facts.sunLeftHours,
    ironWithPhosphate: used.some((product) => product.fePercent > 0) && used.some((product) => product.p2o5Percent > 0),
    tankPh: spray.measuredPh ?? spray.predictedPh,
    overlapShare: null,
    rainWithin4hMm: facts.rainWithin4hMm,
  };
}

/** What the drying model says to a what-if, for the same spray in the weather that was. */
function numbersFor({ change, text }: WhatIf, lawn: Lawn, hours: readonly WeatherHour[], spray: Spray, facts: SprayFacts): string | null {
  const start = spray.startedAt.getTime();
  const clock = (ms: number) => localOfInstant(new Date(ms), lawn.timeZone).slice(11, 16);
  if (facts.dryingMinutes === null || facts.carrierLPerHa === null) return null;
  const at = change.hoursLater === undefined ? start : start + change.hoursLater * HOUR_MS;
  if (change.carrierFactor !== undefined || change.hoursLater !== undefined) {
    const minutes = minutesOf(dryingOf(lawn, hours, at, facts.carrierLPerHa * (change.carrierFactor ?? 1)), at);
    const what = change.carrierFactor === undefined ? 'The same spray' : `${change.carrierFactor === 2 ? 'Twice' : `${change.carrierFactor} times`} the carrier`;
    return minutes === null ? null : dryingWhatIfSentence(what, clock(at), minutes, facts.dryingMinutes);
  }
  const fits = (hour: WeatherHour) =>
    hour.hourStartUtcMs > start - DAY_MS &&
    (change.maxTempC === undefined || (hour.airTempC ?? Infinity) <= change.maxTempC) &&
    (change.maxWindMPerS === undefined || (hour.windMPerS ?? Infinity) <= change.maxWindMPerS) &&
    (hour.solarWPerM2 ?? 0) > 0 &&
    (hour.rainMm ?? 0) === 0;
  if (change.maxTempC === undefined && change.maxWindMPerS === undefined) return null;
  const other = hours.filter(fits).sort((a, b) => Math.abs(a.hourStartUtcMs - start) - Math.abs(b.hourStartUtcMs - start))[0];
  if (!other) return `${text}: none in the day before or the two after.`;
  const minutes = minutesOf(dryingOf(lawn, hours, other.hourStartUtcMs, facts.carrierLPerHa), other.hourStartUtcMs);
  const when = localOfInstant(new Date(other.hourStartUtcMs), lawn.timeZone).replace('T', ' ');
  return minutes === null ? null : dryingWhatIfSentence('The same spray', when, minutes, facts.dryingMinutes);
}

/** The spray again with changes: rates of iron and surfactant, carrier volume. What a plan can't hold (waiting, a cooler day) stays in words. */
function planWith(spray: Spray, products: ReadonlyMap<string, Product>, changes: readonly WhatIf[]): string {
  const factor = (name: 'ironFactor' | 'surfactantFactor') => Math.min(1, ...changes.map(({ change }) => change[name] ?? 1));
  const carrierFactor = Math.max(1, ...changes.map(({ change }) => change.carrierFactor ?? 1));
  const items = spray.items.flatMap((item) => {
    const product = products.get(item.productId);
    const by = (product?.role === 'surfactant' ? factor('surfactantFactor') : 1) * ((product?.fePercent ?? 0) > 0 ? factor('ironFactor') : 1);
    // A rate per tank volume gets weaker by itself when there is more water; what lies on the ground is to stay.
    const perTank = /\/(100)?(us-gal|L)$/.test(item.rateEnteredUnit) ? 1 / carrierFactor : 1;
    return by === 0 ? [] : [{ productId: item.productId, rateEnteredValue: item.rateEnteredValue * by * perTank, rateEnteredUnit: item.rateEnteredUnit }];
  });
  const carrier =
    spray.carrierEnteredValue !== null && spray.carrierEnteredUnit !== null
      ? { value: spray.carrierEnteredValue * carrierFactor, unit: spray.carrierEnteredUnit }
      : spray.carrierLPerHa === null
        ? { value: null, unit: null }
        : { value: spray.carrierLPerHa * carrierFactor, unit: 'L/ha' };
  return planAddress({ plotIds: spray.plots.map((covered) => covered.plotId), items, carrier });
}
