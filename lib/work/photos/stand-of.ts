import 'server-only';
import { createHash } from 'node:crypto';
import { findLawn, type Lawn } from '@/lib/diary/lawns';
import { BY_PERSON } from '@/lib/diary/outlines';
import {
  firstSizes,
  outlinedNeighbours,
  outlinedStretch,
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
import type { GroundPlan } from './find-plots-by-cards';
import type { LineUpSource } from './line-up-photo';
import { groundPlanOf } from './peg-cards';

/**
 * The one rule about rows: what a person gave or said is written, and only a person changes it; what was worked out
 * carries the fingerprint of what it rests on, and holds only as long as that is today's. Of a photo three things cost
 * enough to be kept: its outlines, where lining up found them; its readings; its changes and marks against its
 * baseline. All else that hangs on it (sun, cautions of the moment, the sprays it follows, threads of marks, verdicts)
 * is worked out whenever it is read.
 */

const LINE_UP_VERSION = 'line-up-7';

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

export async function standOfOne(photoId: string): Promise<Stand | null> {
  const [state] = await photoStates([photoId]);
  const lawn = state ? await findLawn(state.lawnId) : null;
  return state && lawn ? ((await standsIn(lawn, await loadHistory(lawn), [state]))[0] ?? null) : null;
}
