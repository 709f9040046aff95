import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { findPhoto, type Photo } from '@/lib/diary/photos';
import { findProducts } from '@/lib/diary/products';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { lastMeasuredBefore } from '@/lib/diary/trials';
import { findCauses } from '@/lib/explain/weigh-causes';
import { LINK_DAYS, type CauseReport, type MarkRecord, type SprayWhatIf } from '@/lib/explain/causes';
import { ironSpreadBefore, laterOf } from '../diary/iron-spread';
import { sharingGround } from './ground-of';
import { knownHours } from '../weather/known-hours';
import { windowLimitsOf } from '../weather/lawn-weather';
import { nextStart } from '../sprays/next-start';
import { markAndItsPatch, type Mark, type PatchSighting } from './marks';
import { upToDatePhotos } from './stand-of';
import { factsOfSpray, hoursAround, type SprayFacts } from '../sprays/spray-facts';
import { allAsRead } from '@/lib/units/quantity';
import { numbersFor, planWith, type NextTime } from './next-time';
import { spraysUpTo, recordOf } from './mark-record';

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
export const MOST_BACK = 1000;

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
    { firstSeenAt, clearAt, seenAgain: thread.slice(1).map(({ takenAt }) => takenAt) },
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
  const lastIron = laterOf(
    done.find((one) => one.items.some((item) => (sprayed.get(item.productId)?.fePercent ?? 0) > 0))?.startedAt ?? null,
    await ironSpreadBefore(lawn.id, [mark.plotId], now),
  );
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
        ? new Date(lastIron.getTime() + ((record.daysSinceLastIron ?? 0) + most('waitDays')) * DAY_MS)
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
