import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import type { Lawn } from '@/lib/diary/lawns';
import { plotsPhotographed } from '@/lib/diary/photos';
import { listPlots } from '@/lib/diary/plots';
import { doneOnPlots, listPlans, spraysBetween, type Spray } from '@/lib/diary/sprays';
import { listTrials } from '@/lib/diary/trials';
import type { CalendarEntry } from '@/lib/trial/calendar-file';
import { calendarFile } from '@/lib/trial/calendar-file';
import { countsFrom } from '@/lib/trial/counts-from';
import { addDays } from '@/lib/trial/due';
import { isFinished } from '@/lib/trial/finished';
import {
  dueText,
  lawnDue,
  LOOK_BACK_DAYS,
  PHOTO_DUE_DAYS,
  type DueThing,
  type LawnDueInput,
  type OpenWindow,
} from '@/lib/trial/lawn-due';
import { localOfInstant } from './lawn-time';
import { USUAL_CARRIER_L_PER_HA } from '../weather/lawn-weather';
import { windowAhead } from '../weather/window-ahead';
import { planFacts } from '../sprays/plan-facts';
import { trialDays } from '../trials/trial-days';
import { readTrial } from '../trials/trial-record';
import { spraysOfTrial } from '../trials/trial-sprays';

/** More photos than a lawn has in so many days. */
const MOST_PHOTOS = 500;
/** As many trials are asked what they want. */
const MOST_TRIALS = 4;

/** What the lawn asks for today, has missed lately and will ask for in the coming month. */
export async function dueOnLawn(lawn: Lawn, now: Date): Promise<DueThing[]> {
  const dateOf = (at: Date) => localOfInstant(at, lawn.timeZone).slice(0, 10);
  const today = dateOf(now);
  // A photo day of an older spray is too long ago to be missed.
  const since = new Date(now.getTime() - (LOOK_BACK_DAYS + Math.max(...PHOTO_DUE_DAYS) + 2) * DAY_MS);
  const [sprays, photos, plans, trials, plots, facts] = await Promise.all([
    spraysBetween(lawn.id, since, now),
    plotsPhotographed(lawn.id, since, now, MOST_PHOTOS),
    listPlans(lawn.id),
    activeTrials(lawn, now, today),
    listPlots(lawn.id),
    planFacts(lawn, '', now, now),
  ]);
  return lawnDue({
    today,
    sprays: sprays
      .filter((spray) => spray.state === 'done')
      .map((spray) => ({
        id: spray.id,
        on: dateOf(spray.startedAt),
        plots: spray.plots.map((covered) => covered.plot),
      })),
    photos: photos.map((photo) => ({ on: dateOf(photo.takenAt), plotIds: photo.plotIds })),
    trials,
    intervals: intervalsOf(facts.history, plots, dateOf, now),
    plans: await Promise.all(
      plans.map(async (plan) => ({
        id: plan.id,
        on: dateOf(plan.startedAt),
        atMs: plan.startedAt.getTime(),
        plots: plan.plots.map((covered) => covered.plot),
        window: await openWindow(lawn, plan, now),
      })),
    ),
  });
}

/** Spraying a few plots takes about so long. Our own choice, no source. */
const WORK_MINUTES = 45;
/** As far as hours ahead are scored. */
const AHEAD_MS = 2 * DAY_MS;

/**
 * The best window of the coming two days for a plan that falls into them; null where the hours aren't known or none
 * fits.
 */
async function openWindow(lawn: Lawn, plan: Spray, now: Date): Promise<OpenWindow | null> {
  if (plan.startedAt.getTime() > now.getTime() + AHEAD_MS || plan.startedAt.getTime() < now.getTime() - DAY_MS)
    return null;
  const answer = await windowAhead(
    lawn,
    {
      carrierLPerHa: plan.carrierLPerHa,
      wettedLeafAreaM2PerM2: 1,
      workMinutes: WORK_MINUTES,
      gridCarriersLPerHa: [plan.carrierLPerHa ?? USUAL_CARRIER_L_PER_HA],
    },
    now,
  );
  const best = answer.kind === 'scored' ? answer.windows[0] : undefined;
  return best && (best.verdict === 'suitable' || best.verdict === 'doubtful')
    ? { fromMs: best.startUtcMs, toMs: best.endUtcMs, verdict: best.verdict }
    : null;
}

async function activeTrials(lawn: Lawn, now: Date, today: string): Promise<LawnDueInput['trials']> {
  // Trials planned long ago are over without looking; the others are looked at.
  const recent = (await listTrials(lawn.id))
    .filter((trial) => addDays(trial.startsOn, Math.max(0, ...trial.photoDays) + 120) >= today)
    .slice(0, MOST_TRIALS * 2);
  const records = await Promise.all(recent.slice(0, MOST_TRIALS).map((trial) => readTrial(trial.id)));
  return records.flatMap((record) => {
    if (!record) return [];
    const sprayedOn = record.sprays.map((spray) => localOfInstant(spray.startedAt, lawn.timeZone).slice(0, 10));
    return isFinished(record.trial, sprayedOn, today)
      ? []
      : [{ id: record.trial.id, name: record.trial.name, days: trialDays(record, now) }];
  });
}

type History = Awaited<ReturnType<typeof planFacts>>['history'];

/**
 * When each product with an interval may go onto each plot again, by its last spray there; for one with iron, by the
 * last iron.
 */
function intervalsOf(
  history: History,
  plots: readonly { id: string; name: string }[],
  dateOf: (at: Date) => string,
  now: Date,
): LawnDueInput['intervals'] {
  const past = history.filter((spray) => !spray.planned && spray.startMs <= now.getTime());
  const products = new Map(
    past
      .flatMap((spray) => spray.items)
      .filter((item) => (item.minIntervalDays ?? 0) > 0)
      .map((item) => [item.productId, item]),
  );
  return [...products.values()].flatMap(({ productId, productName, minIntervalDays, roles }) =>
    plots.flatMap((plot) => {
      const counts = (spray: History[number]) =>
        spray.plotIds.includes(plot.id) &&
        spray.items.some(
          (item) => item.productId === productId || (roles.includes('iron') && item.roles.includes('iron')),
        );
      if (
        !past.some(
          (spray) => spray.plotIds.includes(plot.id) && spray.items.some((item) => item.productId === productId),
        )
      )
        return [];
      const lastMs = Math.max(...past.filter(counts).map((spray) => spray.endMs));
      const allowedAtMs = lastMs + minIntervalDays! * DAY_MS;
      return [
        {
          productId,
          name: productName,
          intervalDays: minIntervalDays!,
          plot: { id: plot.id, name: plot.name },
          allowedOn: dateOf(new Date(allowedAtMs)),
          allowedAtMs,
        },
      ];
    }),
  );
}

/** The lawn's coming days as a calendar file: no place, no name of the lawn. */
export async function lawnCalendar(lawn: Lawn, now: Date): Promise<string> {
  const days = (await dueOnLawn(lawn, now))
    .filter((thing) => thing.state !== 'missing')
    .map((thing): CalendarEntry => {
      const { title, why } = dueText(thing, lawn);
      return { uid: `${lawn.id}-${thing.key}@swathbook`, on: thing.on, title, text: why };
    });
  return calendarFile('Lawn days', days, now.toISOString());
}

/** Which trials of a lawn are over, so that they and the plots only they use can stand back. */
export async function trialsOver(
  lawn: Pick<Lawn, 'id' | 'timeZone'>,
  now: Date,
): Promise<{ trialIds: Set<string>; plotIds: Set<string> }> {
  const today = localOfInstant(now, lawn.timeZone).slice(0, 10);
  const trials = await listTrials(lawn.id);
  if (trials.length === 0) return { trialIds: new Set(), plotIds: new Set() };
  const sprays = await doneOnPlots(lawn.id, [
    ...new Set(trials.flatMap((trial) => trial.plots.map((plot) => plot.plotId))),
  ]);
  const over = trials.filter((trial) => {
    const plotIds = trial.plots.map((plot) => plot.plotId);
    const sprayedOn = spraysOfTrial({ startsOn: countsFrom(trial), plotIds }, sprays, lawn.timeZone).map((spray) =>
      localOfInstant(spray.startedAt, lawn.timeZone).slice(0, 10),
    );
    return isFinished(trial, sprayedOn, today);
  });
  const ids = new Set(over.map((trial) => trial.id));
  const inUse = new Set(
    trials.filter((trial) => !ids.has(trial.id)).flatMap((trial) => trial.plots.map((plot) => plot.plotId)),
  );
  // Plots older than the trial are the lawn's own and stay.
  const only = over.flatMap((trial) =>
    trial.plots.filter((plot) => plot.plot.createdAt >= trial.createdAt).map((plot) => plot.plotId),
  );
  return { trialIds: ids, plotIds: new Set(only.filter((id) => !inUse.has(id))) };
}
