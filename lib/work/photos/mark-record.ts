import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { listOutlines } from '@/lib/diary/outlines';
import type { Photo } from '@/lib/diary/photos';
import { findProducts, hasIronProducts, type Product } from '@/lib/diary/products';
import { findPlot } from '@/lib/diary/plots';
import { listSprayers } from '@/lib/diary/sprayers';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { wasMeasuredFrom } from '@/lib/diary/trials';
import { LINK_DAYS, type MarkRecord } from '@/lib/explain/causes';
import { ironOf } from '@/lib/spray/mix-item';
import { ironHoldsToPh } from '@/lib/spray/mixture-checks';
import { passesOver } from '@/lib/spray/passes';
import { ATOMIC_WEIGHT } from '@/lib/units/atomic-weight';
import { CACO3_MG_PER_MEQ } from '@/lib/units/concentration';
import { ironSpreadBefore, laterOf } from '../diary/iron-spread';
import { lawnRecord } from '../diary/lawn-record';
import { marksOfPhotos, type Mark } from './marks';
import { planPlot } from '../sprays/plan-facts';
import { planProduct } from '../sprays/plan-product';
import { testedCauses } from '../trials/test-a-cause';
import { nutrientsOfSpray, type SprayFacts } from '../sprays/spray-facts';
import { MOST_BACK } from './find-causes';

/** As many sprays before a mark are read at first. */
const LOOK_BACK = 60;

/**
 * The sprays done on some plots until an instant, newest first: all that a mark may come from, and, further back, as
 * far as iron was last sprayed before them.
 */
export async function spraysUpTo(
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

export async function recordOf(
  lawn: Lawn,
  mark: Mark,
  photo: Photo,
  { firstSeenAt, clearAt, seenAgain }: { firstSeenAt: Date; clearAt: Date | null; seenAgain: readonly Date[] },
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
  const lastIron = laterOf(
    earlier.find((one) => nutrientsOfSpray(one, products).Fe > 0)?.startedAt ?? null,
    await ironSpreadBefore(lawn.id, [mark.plotId], spray.startedAt),
  );
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
  const { wateredWithin4hMm, watered4hGuessed, ...ofTheLawn } = await lawnRecord(
    lawn,
    mark.plotId,
    spray.startedAt,
    firstSeenAt,
    seenAgain,
  );
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
    ironInMix: used.some((product) => product.fePercent > 0),
    labelMaxIronKgPerHa: iron === null || maxKgPerHa === null ? null : (maxKgPerHa * iron.fePercent) / 100,
    daysSinceLastIron: lastIron ? (spray.startedAt.getTime() - lastIron.getTime()) / DAY_MS : null,
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
    ironHoldsToPh: ironHoldsToPh(planned),
    overlapShare: await overlapOf(spray, mark.plotId),
    waterWithin4hMm:
      wateredWithin4hMm === null ? facts.rainWithin4hMm : (facts.rainWithin4hMm ?? 0) + wateredWithin4hMm,
    waterWithin4hGuessed: watered4hGuessed,
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
