import 'server-only';
import { isServerGone } from '@/lib/diary/client';
import { adoptOutlines, photoIdsInOrder, photoStates } from '@/lib/diary/worked-out';
import { comparePhoto } from './compare-with-baseline';
import { lineUpPhoto, placeByCards } from './line-up-photo';
import { measureState } from './measure-photo';
import { standOfOne, isUpToDate, upToDatePhotos } from './stand-of';

/**
 * Brings everything worked out of one photo up to date: outlines, then readings, then changes and marks; what holds is
 * left alone. Each step keeps the fingerprint of what it read, so that an edit made meanwhile shows as work still to be
 * done.
 * @returns whether anything had to be done
 */
export async function renewPhoto(photoId: string): Promise<{ renewed: boolean; failed: string | null }> {
  let stand = await standOfOne(photoId);
  if (!stand || isUpToDate(stand)) return { renewed: false, failed: null };
  if (!stand.holds.outlines) {
    const { state, source, wanted } = stand;
    // Outlines that count and that an earlier version found are taken as they stand.
    const adopt = state.outlinesKey === null && state.outlines.some((outline) => outline.accepted);
    const byCards = !adopt && source.plan !== null && (await placeByCards(state, source.plan, wanted.outlines));
    if (!byCards && !adopt && source.photos) await lineUpPhoto(state, source.photos, wanted.outlines);
    else if (!byCards) await adoptOutlines(photoId, state.outlinesKey, wanted.outlines);
    stand = await standOfOne(photoId);
  }
  if (stand && !stand.holds.readings) {
    const measured = await measureState(stand.state, stand.wanted.readings, stand.scale);
    if (!measured.ok) return { renewed: true, failed: measured.message };
  }
  if (stand && !stand.holds.comparison) await comparePhoto(stand.pairing, stand.wanted.comparison);
  return { renewed: true, failed: null };
}

/** What a renewal looks through: all of a lawn's photos, or those of one viewpoint from an instant on. */
interface Scope {
  readonly viewpointId: string | null;
  readonly from: Date | null;
}

const WHOLE_LAWN: Scope = { viewpointId: null, from: null };

const covers = (wide: Scope, narrow: Scope): boolean =>
  (wide.viewpointId === null || wide.viewpointId === narrow.viewpointId) &&
  (wide.from === null || (narrow.from !== null && wide.from <= narrow.from));

/** Renewals under way, by lawn: one at a time a lawn, and once more of whatever changed meanwhile. */
interface Run {
  /** Whether it looks through photos that may be many: a viewpoint's whole past, or the lawn. */
  isWide: boolean;
  waiting: Scope[];
  done: Promise<number>;
}

const holder = globalThis as { swathbookRenewals?: Map<string, Run>; swathbookUnderWay?: Map<string, number> };

/** Whether this process is working on a photo: nobody need ask for it. */
export const isUnderWay = (photoId: string): boolean => holder.swathbookUnderWay?.has(photoId) ?? false;

/** @returns whether anything had to be done; what goes wrong is told and left for the next time */
async function renewOne(photoId: string): Promise<boolean> {
  const underWay = (holder.swathbookUnderWay ??= new Map<string, number>());
  underWay.set(photoId, (underWay.get(photoId) ?? 0) + 1);
  try {
    return (await renewPhoto(photoId)).renewed;
  } catch (error) {
    if (isServerGone(error)) throw error;
    console.error(`swathbook: photo ${photoId} could not be read`, error);
    return false;
  } finally {
    const left = (underWay.get(photoId) ?? 1) - 1;
    if (left > 0) underWay.set(photoId, left);
    else underWay.delete(photoId);
  }
}

/**
 * Brings everything worked out of a lawn's photos up to date, oldest first, since later photos rest on earlier ones.
 * Whoever asks while it runs waits for the same run, which then looks once more.
 * @param firstId a photo to begin with
 * @returns how many photos were renewed in the run
 */
export async function renewLawn(lawnId: string, firstId?: string): Promise<number> {
  // What was just uploaded is waited for.
  if (firstId !== undefined) await renewOne(firstId);
  return sweep(lawnId, WHOLE_LAWN);
}

/**
 * Reads a photo that came in, and renews what it can have moved: later photos of its viewpoint, which are lined up by
 * it or read at its scale. One that comes back out of the bin with outlines moves earlier ones too. Photos that come
 * one after another are read in the order they were taken, so that each is lined up once, by the one before it.
 * @returns how many photos were renewed
 */
export async function renewUpload(photoId: string): Promise<number> {
  const [state] = await photoStates([photoId]);
  if (!state) return 0;
  if (state.viewpointId === null) return Number(await renewOne(photoId));
  // Behind a run through all the lawn nobody who has just sent a photo should wait.
  const running = holder.swathbookRenewals?.get(state.lawnId);
  const first = running?.isWide ? Number(await renewOne(photoId)) : 0;
  return (
    first +
    (state.outlines.length > 0
      ? await renewAround(photoId)
      : await sweep(state.lawnId, { viewpointId: state.viewpointId, from: state.takenAt }))
  );
}

/**
 * Renews a photo's viewpoint: all that it rests on, itself, and what rests on it.
 * @returns how many photos were renewed
 */
export async function renewAround(photoId: string): Promise<number> {
  const [state] = await photoStates([photoId]);
  if (!state) return 0;
  return state.viewpointId === null
    ? Number(await renewOne(photoId))
    : sweep(state.lawnId, { viewpointId: state.viewpointId, from: null });
}

function sweep(lawnId: string, scope: Scope): Promise<number> {
  holder.swathbookRenewals ??= new Map();
  const running = holder.swathbookRenewals.get(lawnId);
  if (running) {
    if (!running.waiting.some((wide) => covers(wide, scope)))
      running.waiting = [...running.waiting.filter((narrow) => !covers(scope, narrow)), scope];
    return running.done;
  }
  const run: Run = { isWide: false, waiting: [scope], done: Promise.resolve(0) };
  holder.swathbookRenewals.set(lawnId, run);
  run.done = renewAll(lawnId, run).finally(() => holder.swathbookRenewals?.delete(lawnId));
  return run.done;
}

/** Photos looked at together: enough for few queries, few enough that an edit made meanwhile is seen soon. */
const LOOK_AT = 50;

async function renewAll(lawnId: string, run: Run): Promise<number> {
  let renewed = 0;
  for (let scope = run.waiting.shift(); scope !== undefined; scope = run.waiting.shift()) {
    run.isWide = scope.from === null;
    const ids = await photoIdsInOrder(lawnId, scope);
    for (let at = 0; at < ids.length; at += LOOK_AT) {
      const part = ids.slice(at, at + LOOK_AT);
      const upToDate = await upToDatePhotos(lawnId, part);
      let settled = true;
      for (const id of part) {
        if (settled && upToDate.has(id)) continue;
        // A photo that was renewed may have moved what the ones after it rest on.
        settled = false;
        if (await renewOne(id)) renewed += 1;
      }
    }
  }
  return renewed;
}
