import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import {
  createSpray,
  findSpray,
  finishPlan,
  updateSpray,
  type Spray,
  type SprayFields,
  type SprayItemInput,
} from '@/lib/diary/sprays';
import type { DoneEntry, PlanEntry } from '@/lib/forms/plan-form';
import { planSpray } from '@/lib/plan/plan-spray';
import { type SprayPlan } from '@/lib/plan/spray-plan';
import { readTypedPlan, type TypedPlan } from '@/lib/plan/typed-plan';
import { needingReason } from '@/lib/spray/check';
import { showMass, showVolume, significant } from '@/lib/units/display';
import { readTypedNumber } from '@/lib/units/typed-number';
import { instantOfLocal } from '../diary/lawn-time';
import { notYet, tooLong } from '../diary/not-yet';
import { planFacts } from './plan-facts';
import { attachWeather } from '../weather/spray-weather';
import { asRead } from '@/lib/units/quantity';

/** Version of the plan's stored shape; one that isn't this is shown from the spray's own columns only. */
const PLAN_VERSION = 1;

/** A plan as it was kept: what was typed, and what came of it then. Later changes to the shelf don't reach into it. */
export interface KeptPlan {
  readonly version: typeof PLAN_VERSION;
  readonly typed: TypedPlan;
  readonly result: SprayPlan;
}

/** The plan kept with a spray, or null when it was made without one. */
export function keptPlan(spray: Pick<Spray, 'plan'>): KeptPlan | null {
  const plan = spray.plan as unknown as KeptPlan | null;
  return plan !== null && plan.version === PLAN_VERSION ? plan : null;
}

export type KeepPlanResult =
  | { ok: true; sprayId: string }
  | { ok: false; errors: Readonly<Record<string, string>>; message: string };

function refuse(errors: Readonly<Record<string, string>>): KeepPlanResult {
  const sentences = Object.values(errors);
  return {
    ok: false,
    errors,
    message:
      sentences.length === 1
        ? (sentences[0] ?? '')
        : `${sentences.length} entries need another look; nothing you typed is lost.`,
  };
}

/**
 * Keeps a plan in the diary as a spray to come (or over the plan named). The sums are done again here, on what the
 * diary holds now.
 */
export async function keepPlan(
  lawnId: string,
  { typed, wish }: PlanEntry,
  now: Date,
  sprayId?: string,
): Promise<KeepPlanResult> {
  const lawn = await findLawn(lawnId);
  if (!lawn) return refuse({ plotIds: 'Lawn: expected a lawn of this diary, got one that is not there any more' });
  const before = sprayId === undefined ? null : await findSpray(sprayId);
  if (sprayId !== undefined && before?.state !== 'planned')
    return refuse({
      startedLocal: 'Plan: expected one that is still to be sprayed, got one that was sprayed or thrown away',
    });
  const startedAt = instantOfLocal(wish.startedLocal, lawn.timeZone);
  const plannedIds = (before?.items ?? []).map((item) => item.productId);
  const facts = await planFacts(lawn, sprayId ?? 'new', startedAt, now, plannedIds);
  const { plan, faults } = planSpray(wish, facts);
  if (plan === null) return refuse(Object.fromEntries(faults.map((fault) => [fault.field, fault.sentence])));
  const never = plan.checks.find((check) => check.level === 'never');
  if (never) return refuse({ items: `${asRead(never.sentence, lawn.unitSystem)} ${never.fix}` });
  const over = needingReason(plan.checks);
  if (over.length > 0 && wish.overLimitReason === '') {
    return refuse({
      overLimitReason: `Reason: expected why this plan goes past a label limit (${asRead(over[0]?.sentence ?? '', lawn.unitSystem)}), got nothing`,
    });
  }
  const kept: KeptPlan = { version: PLAN_VERSION, typed, result: plan };
  const fields: SprayFields = {
    state: 'planned',
    startedAt,
    sprayerId: facts.sprayers.find((one) => one.id === wish.sprayerId)?.id ?? null,
    carrierLPerHa: wish.carrierLPerHa,
    carrierEnteredValue: readTypedNumber(typed.carrier.value),
    carrierEnteredUnit: typed.carrier.unit,
    plannedVolumeL: plan.sheet.tanks.totalMixL + plan.sheet.tanks.reserveL,
    waterPh: wish.waterPH,
    waterAlkalinityMgPerLCaCO3: wish.alkalinityMgPerLCaCO3,
    waterHardnessMgPerLCaCO3: wish.hardnessMgPerLCaCO3,
    targetPh: wish.targetPH,
    predictedPh: plan.chemistry.tank?.kind === 'predicted' ? plan.chemistry.tank.closed.pH : null,
    overLimitReason: over.length > 0 ? wish.overLimitReason : null,
    note: wish.note,
    plan: JSON.parse(JSON.stringify(kept)),
  };
  const items = plan.items.map((item, place): SprayItemInput => ({
    productId: item.productId,
    ...rateColumns(item),
    rateKgPerHa: item.dose.massKgPerHa,
    rateLPerHa: item.dose.volumeLPerHa,
    plannedKg: plan.sheet.totals[place]?.massKg ?? null,
    plannedL: plan.sheet.totals[place]?.volumeL ?? null,
  }));
  const where = plan.plots.map((plot) => ({ plotId: plot.id, areaM2: plot.areaM2 }));
  const spray = await (sprayId === undefined
    ? createSpray(lawnId, fields, items, where)
    : updateSpray(sprayId, fields, items, where));
  return { ok: true, sprayId: spray.id };
}

/**
 * The rate's "as entered" columns. A nutrient or a target pH was entered instead of a rate: the product rate it comes
 * to stands in.
 */
function rateColumns(item: SprayPlan['items'][number]): Pick<SprayItemInput, 'rateEnteredValue' | 'rateEnteredUnit'> {
  if (item.by === 'rate' && item.entered !== null)
    return { rateEnteredValue: item.entered.value, rateEnteredUnit: item.entered.unit };
  const liquid = item.form === 'liquid' && item.dose.volumeLPerHa !== null;
  const rate = liquid ? item.dose.volumeLPerHa : item.dose.massKgPerHa;
  return { rateEnteredValue: Number((rate ?? 0).toPrecision(4)), rateEnteredUnit: liquid ? 'L/ha' : 'kg/ha' };
}

export type SprayPlanResult = { ok: true } | { ok: false; field: string; message: string };

/**
 * An amount this many times the planned one, or as many times less, is asked about: a slip of the unit or of the point.
 */
const TENFOLD = 10;

/**
 * What in a finished plan can be right but is unlikely, a sentence each: an amount ten times the planned one or a tenth
 * of it, and mix that doesn't add up.
 */
export async function doubtsOfDone(sprayId: string, entry: DoneEntry): Promise<string[]> {
  const spray = await findSpray(sprayId);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  if (!spray || !lawn) return [];
  const system = lawn.unitSystem;
  const amounts = spray.items.flatMap((item) => {
    const typed = entry.items.find((one) => one.itemId === item.id);
    const both = [
      [typed?.massKg ?? null, item.plannedKg, showMass],
      [typed?.volumeL ?? null, item.plannedL, showVolume],
    ] as const;
    for (const [put, planned, show] of both) {
      if (put === null || planned === null || put === 0 || planned === 0) continue;
      const times = put / planned;
      if (times < TENFOLD * (1 - 1e-9) && times > (1 + 1e-9) / TENFOLD) return [];
      const words = times > 1 ? `${significant(times, 2)} times` : `1/${significant(1 / times, 2)} of`;
      return [
        `${item.product.name}: ${show(put, system).text} measured into the tank, ${words} the ${show(planned, system).text} planned.`,
      ];
    }
    return [];
  });
  const made = entry.actualVolumeL === null ? null : entry.actualVolumeL + (entry.leftoverL ?? 0);
  const mix =
    made !== null && spray.plannedVolumeL !== null && made > 3 * spray.plannedVolumeL
      ? [
          `Mix: ${showVolume(made, system).text} sprayed and left, of ${showVolume(spray.plannedVolumeL, system).text} planned.`,
        ]
      : [];
  return [...amounts, ...mix];
}

/**
 * A plan was sprayed: what was measured into the tank, when, and in what weather. An amount left empty was measured out
 * as planned; what came back in the tank is taken off each product alike. Weather left empty is that of the hours, now
 * or when they come, and until then what was typed for the plan; so is a figure left empty beside others.
 */
export async function sprayFromPlan(sprayId: string, entry: DoneEntry, now = new Date()): Promise<SprayPlanResult> {
  const spray = await findSpray(sprayId);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  const gone = {
    ok: false as const,
    field: 'startedLocal',
    message: 'Plan: expected one that is still to be sprayed, got one that was sprayed or thrown away',
  };
  if (!spray || !lawn || spray.state !== 'planned') return gone;
  const startedAt = instantOfLocal(entry.startedLocal, lawn.timeZone);
  const endedAt = entry.endedLocal === null ? null : instantOfLocal(entry.endedLocal, lawn.timeZone);
  const early = notYet('Start', entry.startedLocal, startedAt, now);
  if (early) return { ok: false, field: 'startedLocal', message: early };
  const wrongEnd =
    endedAt === null
      ? null
      : (notYet('End', entry.endedLocal ?? '', endedAt, now) ?? tooLong(startedAt, endedAt, entry.endedLocal ?? ''));
  if (wrongEnd) return { ok: false, field: 'endedLocal', message: wrongEnd };
  if (
    entry.leftoverL !== null &&
    entry.actualVolumeL === null &&
    spray.plannedVolumeL !== null &&
    entry.leftoverL > spray.plannedVolumeL * 1.05
  ) {
    const shown = (volumeL: number) => showVolume(volumeL, lawn.unitSystem).text;
    return {
      ok: false,
      field: 'leftover',
      message: `Left in the tank: expected at most the ${shown(spray.plannedVolumeL)} that were mixed, got ${shown(entry.leftoverL)}`,
    };
  }
  const bothKnown = entry.actualVolumeL !== null && entry.leftoverL !== null;
  const made = bothKnown ? (entry.actualVolumeL ?? 0) + (entry.leftoverL ?? 0) : spray.plannedVolumeL;
  // What went out is known as soon as what is left over is.
  const actualVolumeL =
    entry.actualVolumeL ?? (entry.leftoverL !== null && made !== null ? Math.max(0, made - entry.leftoverL) : null);
  // What stayed in the tank didn't go onto the grass.
  const share = made !== null && made > 0 && actualVolumeL !== null ? Math.min(1, actualVolumeL / made) : 1;
  const products = new Map((keptPlan(spray)?.result.items ?? []).map((item) => [item.productId, item]));
  const actuals = spray.items.map((item) => {
    const typed = entry.items.find((one) => one.itemId === item.id);
    const density = products.get(item.productId)?.densityKgPerL ?? null;
    const put =
      !typed || typed.enteredValue === null
        ? { massKg: item.plannedKg, volumeL: item.plannedL }
        : {
            massKg: typed.massKg ?? (typed.volumeL !== null && density !== null ? typed.volumeL * density : null),
            volumeL: typed.volumeL ?? (typed.massKg !== null && density !== null ? typed.massKg / density : null),
          };
    return {
      itemId: item.id,
      actualKg: put.massKg === null ? null : put.massKg * share,
      actualL: put.volumeL === null ? null : put.volumeL * share,
      actualEnteredValue: typed?.enteredValue ?? null,
      actualEnteredUnit: typed?.enteredUnit ?? null,
    };
  });
  const weatherTyped = entry.airTempC !== null || entry.windMPerS !== null || entry.relHumidityPercent !== null;
  const planned = plannedWeather(spray);
  const finished = await finishPlan(
    sprayId,
    {
      startedAt,
      endedAt,
      actualVolumeL,
      leftoverL: entry.leftoverL,
      measuredPh: entry.measuredPh,
      airTempC: entry.airTempC ?? planned?.airTempC ?? null,
      relHumidityPercent: entry.relHumidityPercent ?? planned?.relHumidityPercent ?? null,
      windMPerS: entry.windMPerS ?? planned?.windMPerS ?? null,
      windFromDeg: entry.windFromDeg,
      weatherSource: weatherTyped ? 'typed' : planned ? 'plan' : null,
      applicator: entry.applicator,
      applicatorLicence: entry.applicatorLicence,
      note: entry.note,
    },
    actuals,
  );
  if (!finished) return gone;
  if (!weatherTyped) await attachWeather(lawn.id, startedAt, startedAt);
  return { ok: true };
}

/** The weather a plan was made with, or null when it had none. */
function plannedWeather(
  spray: Spray,
): { airTempC: number | null; relHumidityPercent: number | null; windMPerS: number | null } | null {
  const kept = keptPlan(spray);
  const wish = kept ? readTypedPlan(kept.typed).wish : null;
  if (wish === null || (wish.airTempC === null && wish.relHumidityPercent === null && wish.windMPerS === null))
    return null;
  return { airTempC: wish.airTempC, relHumidityPercent: wish.relHumidityPercent, windMPerS: wish.windMPerS };
}
