import 'server-only';
import { isServerGone } from '@/lib/diary/client';
import { createHash } from 'node:crypto';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { BY_PERSON } from '@/lib/diary/outlines';
import {
  adoptOutlines,
  firstSizes,
  outlinedNeighbours,
  outlinedStretch,
  photoIdsInOrder,
  photoStates,
  referencePhotos,
  type OutlinedStretch,
  type PhotoState,
  type StateOutline,
} from '@/lib/diary/worked-out';
import { CHANGE } from '@/lib/photo/change';
import { MARKS } from '@/lib/photo/marks/marks';
import { PLACE_MAP_VERSION } from '@/lib/lineup/place-map';
import { METHOD_VERSION } from '@/lib/photo/measure/measure';
import { scaleFor, type PhotoScale } from '@/lib/photo/measure/scale';
import { loadHistory, pairsOf, type History, type Pairing } from './baselines';
import { COMPARE_VERSION } from './compare-photos';
import { comparePhoto } from './compare-with-baseline';
import type { GroundPlan } from './find-plots-by-cards';
import { lineUpPhoto, placeByCards, type LineUpSource } from './line-up-photo';
import { measureState } from './measure-photo';
import { groundPlanOf } from './peg-cards';

/**
 * The one rule about rows: what a person gave or said is written, and only a person changes it; what was worked out
 * carries the fingerprint of what it rests on, and holds only as long as that is today's. Of a photo three things cost
 * enough to be kept: its outlines, where lining up found them; its readings; its changes and marks against its
 * baseline. All else that hangs on it (sun, cautions of the moment, the sprays it follows, threads of marks, verdicts)
 * is worked out whenever it is read.
 */

const LINE_UP_VERSION = 'line-up-6';

export type Part = 'outlines' | 'readings' | 'comparison';

/** What a photo's worked-out rows should rest on today, and which of them do. */
export interface Stand {
  readonly state: PhotoState;
  readonly pairing: Pairing;
  /**
   * What the photo is read at: the scale of its viewpoint's first photo, so that one viewpoint's readings are alike.
   */
  readonly scale: PhotoScale;
  readonly wanted: Readonly<Record<Part, string>>;
  readonly holds: Readonly<Record<Part, boolean>>;
  /**
   * What its outlines are found by, where a person set none: the lawn's plot cards, and other photos of the viewpoint.
   */
  readonly source: { readonly plan: GroundPlan | null; readonly photos: LineUpSource | null };
}

/** True when everything worked out of the photo still rests on what is in the diary now. */
export const isUpToDate = ({ holds }: Stand): boolean => holds.outlines && holds.readings && holds.comparison;

function fingerprint(...parts: unknown[]): string {
  return createHash('sha1').update(JSON.stringify(parts)).digest('base64url');
}

const isFourCornered = (outline: StateOutline): boolean => outline.accepted && outline.corners.length === 4;
const isByPerson = ({ origin }: StateOutline): boolean => origin === 'drawn' || origin === 'surveyed';
const shapes = (state: PhotoState) =>
  state.outlines
    .filter(isFourCornered)
    .filter((outline) => !outline.plotBinned)
    .map(({ plotId, corners }) => [plotId, corners]);

/** Outlines that plot cards or lining up made, or may make: a person neither drew nor removed any. */
const areFound = (state: PhotoState): boolean => state.outlinesKey !== BY_PERSON && !state.outlines.some(isByPerson);

/** A board as outlined by a person; the two ways of not having one are alike. */
const board = (corners: unknown): unknown => (Array.isArray(corners) && corners.length === 4 ? corners : null);

function readingsFingerprint(state: PhotoState, scale: PhotoScale): string {
  const accepted = state.outlines.filter((outline) => outline.accepted);
  return fingerprint(
    METHOD_VERSION,
    scale,
    state.sha256,
    accepted.map(({ plotId, corners, ground }) => [plotId, corners, ground?.length === corners.length ? ground : null]),
  );
}

function comparisonFingerprint(pairing: Pairing, edition: string): string {
  const outline = ({ plotId, corners, ground }: StateOutline) => [
    plotId,
    corners,
    ground?.length === 4 ? ground : null,
  ];
  const { photo, trustGiven } = pairing;
  return fingerprint(
    COMPARE_VERSION,
    CHANGE.version,
    MARKS.version,
    edition,
    photo.sha256,
    board(photo.greyCard),
    board(photo.chart),
    trustGiven,
    pairing.groups.map(({ baseline, check, plots }) => [
      baseline.sha256,
      check?.plotId ?? null,
      board(baseline.greyCard),
      board(baseline.chart),
      plots.map(({ before, after }) => [...outline(before), after.corners]),
    ]),
    pairing.alone.map(outline),
  );
}

/**
 * How many photos before it a photo's viewpoint is learned from: at least the first, fewer than twice as many, so that
 * the map is learned on from photo to photo.
 */
const LESSONS = 4;

/**
 * The photos of a viewpoint that teach where another one lies: the last few before it whose outlines count, its
 * reference left aside.
 */
function lessonsFor(state: PhotoState, outlined: OutlinedStretch, reference: PhotoState | undefined): string[] {
  const at = state.takenAt.getTime();
  const isBefore = (photo: { readonly takenAtMs: number; readonly sha256: string }) =>
    photo.takenAtMs < at || (photo.takenAtMs === at && photo.sha256 < state.sha256);
  const near = outlined.photos.filter(
    (photo) => photo.id !== state.id && photo.id !== reference?.id && isBefore(photo),
  );
  // The reference counts for none of those that lie before the stretch either.
  const inStretch = reference === undefined || outlined.photos.some((photo) => photo.id === reference.id);
  const far =
    outlined.before -
    (!inStretch &&
    reference !== undefined &&
    isBefore({ takenAtMs: reference.takenAt.getTime(), sha256: reference.sha256 })
      ? 1
      : 0);
  const count = far + near.length;
  const begins = Math.max(0, Math.floor((count - LESSONS) / LESSONS) * LESSONS);
  return near.slice(Math.max(0, begins - far)).map((photo) => photo.id);
}

/** Of each viewpoint the stretch that teaches some of its photos. */
async function stretchesFor(found: readonly PhotoState[]): Promise<Map<string, OutlinedStretch>> {
  const byViewpoint = new Map<string, number[]>();
  for (const { viewpointId, takenAt } of found)
    if (viewpointId !== null)
      byViewpoint.set(viewpointId, [...(byViewpoint.get(viewpointId) ?? []), takenAt.getTime()]);
  return new Map(
    await Promise.all(
      [...byViewpoint].map(
        async ([viewpointId, at]) =>
          [
            viewpointId,
            await outlinedStretch(viewpointId, new Date(Math.min(...at)), new Date(Math.max(...at)), 2 * LESSONS),
          ] as const,
      ),
    ),
  );
}

const NO_STRETCH: OutlinedStretch = { before: 0, photos: [] };

/** What a viewpoint's map rests on when it is learned from these photos, the reference first. */
const placeKey = (photos: readonly PhotoState[]): string =>
  fingerprint(
    PLACE_MAP_VERSION,
    photos.map((photo) => [photo.sha256, shapes(photo)]),
  );

/** How the worked-out rows of some photos of a lawn stand. Cheap: rows by their index and a hash a photo, no pixels. */
export async function standOf(lawnId: string, photoIds: readonly string[]): Promise<Map<string, Stand>> {
  const lawn = await findLawn(lawnId);
  if (!lawn || photoIds.length === 0) return new Map();
  const history = await loadHistory(lawn);
  return new Map((await standsIn(lawn, history, await photoStates(photoIds))).map((stand) => [stand.state.id, stand]));
}

async function standsIn(lawn: Lawn, history: History, states: readonly PhotoState[]): Promise<Stand[]> {
  const found = states.filter(areFound);
  const viewpoints = found.flatMap((state) => state.viewpointId ?? []);
  const [neighbours, references, stretches, pairings, plan, sizes] = await Promise.all([
    outlinedNeighbours(found.map((state) => state.id)),
    referencePhotos(viewpoints),
    stretchesFor(found),
    pairsOf(history, states),
    found.length === 0 ? null : groundPlanOf(lawn.id),
    firstSizes(states.flatMap((state) => state.viewpointId ?? [])),
  ]);
  const firsts = new Map((await photoStates([...new Set(references.values())])).map((state) => [state.id, state]));
  const lessons = new Map(
    found.map((state) => [
      state.id,
      lessonsFor(
        state,
        stretches.get(state.viewpointId ?? '') ?? NO_STRETCH,
        firsts.get(references.get(state.viewpointId ?? '') ?? ''),
      ),
    ]),
  );
  const sourceIds = found.flatMap((state) =>
    [
      neighbours.get(state.id)?.earlier ?? neighbours.get(state.id)?.later,
      references.get(state.viewpointId ?? ''),
      ...lessons.get(state.id)!,
    ].filter((id) => id != null),
  );
  const sources = new Map([
    ...firsts,
    ...(await photoStates([...new Set(sourceIds)].filter((id) => !firsts.has(id)))).map(
      (state) => [state.id, state] as const,
    ),
  ]);
  return states.map((state): Stand => {
    const beside = neighbours.get(state.id);
    const last = sources.get(beside?.earlier ?? beside?.later ?? '') ?? null;
    const reference = sources.get(references.get(state.viewpointId ?? '') ?? '') ?? null;
    const apart =
      reference && reference.id !== last?.id && reference.id !== state.id && shapes(reference).length > 0
        ? reference
        : null;
    const taught = apart
      ? (lessons.get(state.id) ?? []).flatMap((id) => sources.get(id) ?? []).filter((photo) => shapes(photo).length > 0)
      : [];
    const source =
      last && shapes(last).length > 0
        ? {
            last,
            reference: apart,
            learned: taught.map((photo, i) => ({ photo, key: placeKey([apart!, ...taught.slice(0, i + 1)]) })),
          }
        : null;
    const pairing = pairings.get(state.id) as Pairing;
    const scale = scaleFor(sizes.get(state.viewpointId ?? '') ?? { width: state.widthPx, height: state.heightPx });
    const wanted = {
      outlines:
        areFound(state) && (source || plan)
          ? fingerprint(
              LINE_UP_VERSION,
              state.sha256,
              plan,
              source && [
                source.last.sha256,
                shapes(source.last),
                source.reference?.sha256 ?? null,
                source.reference ? shapes(source.reference) : null,
                source.learned.at(-1)?.key ?? null,
              ],
            )
          : '',
      readings: readingsFingerprint(state, scale),
      comparison: comparisonFingerprint(pairing, lawn.chartEdition),
    };
    return {
      state,
      pairing,
      scale,
      wanted,
      source: { plan: areFound(state) ? plan : null, photos: source },
      holds: {
        // What lies where nothing can be found from stays as it is: nothing better can be had.
        outlines: wanted.outlines === '' || state.outlinesKey === wanted.outlines,
        readings: state.readingsKey === wanted.readings,
        comparison: state.comparisonKey === wanted.comparison,
      },
    };
  });
}

/** The photos of those given whose worked-out rows may be shown; the others are to be renewed. */
export async function upToDatePhotos(lawnId: string, photoIds: readonly string[]): Promise<Set<string>> {
  const stands = await standOf(lawnId, photoIds);
  return new Set([...stands.values()].filter(isUpToDate).map((stand) => stand.state.id));
}

async function standOfOne(photoId: string): Promise<Stand | null> {
  const [state] = await photoStates([photoId]);
  const lawn = state ? await findLawn(state.lawnId) : null;
  return state && lawn ? ((await standsIn(lawn, await loadHistory(lawn), [state]))[0] ?? null) : null;
}

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
