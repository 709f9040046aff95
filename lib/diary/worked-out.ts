import 'server-only';
import { pointsOf } from '@/lib/photo/raster/points';
import { countsFrom } from '@/lib/trial/counts-from';
import { Prisma } from '@prisma/client';
import type { Point } from '@/lib/photo/raster/pixels';
import { diary } from './client';
import { inParts } from './in-parts';
import { daysLater, instant } from './sql';
import { coveringPlots } from './sprays';
import type { KeptCaution } from './photos';
import type { OutlineOrigin } from './outlines';
import type { PlanPoint } from './plots';

/** An outline in a photo with what of its plot bears on a reading. */
export interface StateOutline {
  readonly plotId: string;
  readonly plotName: string;
  readonly isCheck: boolean;
  readonly plotBinned: boolean;
  readonly ground: PlanPoint[] | null;
  readonly corners: Point[];
  readonly origin: OutlineOrigin;
  readonly accepted: boolean;
}

/** Everything about a photo that its worked-out rows rest on, and the fingerprints they were kept with. */
export interface PhotoState {
  readonly id: string;
  readonly lawnId: string;
  readonly viewpointId: string | null;
  readonly sha256: string;
  readonly kind: string;
  readonly takenAt: Date;
  readonly widthPx: number;
  readonly heightPx: number;
  /** How the camera was held, by the phone's sensor; a photo's own for good. */
  readonly cameraPitchDeg: number | null;
  readonly cameraRollDeg: number | null;
  readonly greyCard: unknown;
  readonly chart: unknown;
  readonly measureState: string;
  /** The reading's own. */
  readonly cautions: readonly KeptCaution[];
  readonly outlinesKey: string | null;
  readonly readingsKey: string | null;
  readonly comparisonKey: string | null;
  /** By plot, so that order of arrival changes nothing. */
  readonly outlines: StateOutline[];
}

const stateFields = {
  id: true,
  lawnId: true,
  viewpointId: true,
  sha256: true,
  kind: true,
  takenAt: true,
  widthPx: true,
  heightPx: true,
  cameraPitchDeg: true,
  cameraRollDeg: true,
  greyCard: true,
  chart: true,
  measureState: true,
  cautions: true,
  outlinesKey: true,
  readingsKey: true,
  comparisonKey: true,
  outlines: {
    orderBy: { plotId: 'asc' },
    select: {
      plotId: true,
      corners: true,
      origin: true,
      accepted: true,
      plot: { select: { name: true, isCheck: true, deletedAt: true, polygonM: true } },
    },
  },
} satisfies Prisma.PhotoSelect;

function narrow({ outlines, cautions, ...photo }: Prisma.PhotoGetPayload<{ select: typeof stateFields }>): PhotoState {
  return {
    ...photo,
    cautions: (cautions as unknown as KeptCaution[] | null) ?? [],
    outlines: outlines.map(({ plot, corners, origin, ...outline }) => ({
      ...outline,
      corners: pointsOf(corners),
      origin: origin as OutlineOrigin,
      plotName: plot.name,
      isCheck: plot.isCheck,
      plotBinned: plot.deletedAt !== null,
      ground: plot.polygonM as PlanPoint[] | null,
    })),
  };
}

/** What worked-out rows rest on, for photos that aren't in the bin. */
export async function photoStates(ids: readonly string[]): Promise<PhotoState[]> {
  const rows = await inParts(ids, (part) =>
    diary().photo.findMany({ where: { id: { in: part }, deletedAt: null }, select: stateFields }),
  );
  return rows.map(narrow);
}

/**
 * A lawn's photos, or those of one viewpoint or from an instant on, oldest first; ties go by their bytes, so that order
 * of arrival doesn't matter.
 */
export async function photoIdsInOrder(
  lawnId: string,
  { viewpointId, from }: { viewpointId: string | null; from: Date | null } = { viewpointId: null, from: null },
): Promise<string[]> {
  const where = {
    lawnId,
    deletedAt: null,
    ...(viewpointId === null ? {} : { viewpointId }),
    ...(from === null ? {} : { takenAt: { gte: from } }),
  };
  return (
    await diary().photo.findMany({ where, orderBy: [{ takenAt: 'asc' }, { sha256: 'asc' }], select: { id: true } })
  ).map((row) => row.id);
}

const PERSONS_ORIGINS = ['drawn', 'surveyed'];

/**
 * For each photo the nearest earlier one of its viewpoint with outlines that count; and the nearest later one that a
 * person outlined.
 */
export async function outlinedNeighbours(
  photoIds: readonly string[],
): Promise<Map<string, { earlier: string | null; later: string | null }>> {
  const rows = await inParts(
    photoIds,
    (part) => diary().$queryRaw<{ id: string; earlier: string | null; later: string | null }[]>`
    SELECT p."id",
      (SELECT q."id" FROM "Photo" q
       WHERE q."viewpointId" = p."viewpointId" AND q."deletedAt" IS NULL AND q."takenAt" <= p."takenAt" AND (q."takenAt" < p."takenAt" OR q."sha256" < p."sha256")
         AND EXISTS (SELECT 1 FROM "Outline" o JOIN "Plot" t ON t."id" = o."plotId" WHERE o."photoId" = q."id" AND o."accepted" AND t."deletedAt" IS NULL)
       ORDER BY q."takenAt" DESC, q."sha256" DESC LIMIT 1) AS "earlier",
      (SELECT q."id" FROM "Photo" q
       WHERE q."viewpointId" = p."viewpointId" AND q."deletedAt" IS NULL AND q."takenAt" >= p."takenAt" AND q."id" <> p."id"
         AND EXISTS (SELECT 1 FROM "Outline" o JOIN "Plot" t ON t."id" = o."plotId"
                     WHERE o."photoId" = q."id" AND o."accepted" AND o."origin" IN ('drawn', 'surveyed') AND t."deletedAt" IS NULL)
       ORDER BY q."takenAt" ASC, q."sha256" ASC LIMIT 1) AS "later"
    FROM "Photo" p WHERE p."id" IN (${Prisma.join(part)})`,
  );
  return new Map(rows.map(({ id, ...beside }) => [id, beside]));
}

/** A photo with outlines that count, in its viewpoint's order: by time, then by its bytes. */
export interface OutlinedInOrder {
  readonly id: string;
  readonly takenAtMs: number;
  readonly sha256: string;
}

/** A stretch of a viewpoint's photos with outlines that count, oldest first, and how many lie before it. */
export interface OutlinedStretch {
  readonly before: number;
  readonly photos: readonly OutlinedInOrder[];
}

const outlinedThere = { accepted: true, plot: { deletedAt: null } } as const;

/**
 * Of one viewpoint the photos with outlines that count between two instants, both inside, and the last `more` before:
 * no more of a long series is read.
 */
export async function outlinedStretch(
  viewpointId: string,
  from: Date,
  to: Date,
  more: number,
): Promise<OutlinedStretch> {
  const where = { viewpointId, deletedAt: null, outlines: { some: outlinedThere } };
  const select = { id: true, takenAt: true, sha256: true } as const;
  const [earlier, within, count] = await Promise.all([
    diary().photo.findMany({
      where: { ...where, takenAt: { lt: from } },
      orderBy: [{ takenAt: 'desc' }, { sha256: 'desc' }],
      take: more,
      select,
    }),
    diary().photo.findMany({
      where: { ...where, takenAt: { gte: from, lte: to } },
      orderBy: [{ takenAt: 'asc' }, { sha256: 'asc' }],
      select,
    }),
    outlinedBefore(viewpointId, from),
  ]);
  return {
    before: count - earlier.length,
    photos: [...earlier.toReversed(), ...within].map(({ id, takenAt, sha256 }) => ({
      id,
      takenAtMs: takenAt.getTime(),
      sha256,
    })),
  };
}

/** How many photos of a viewpoint with outlines that count were taken before an instant. */
async function outlinedBefore(viewpointId: string, before: Date): Promise<number> {
  const [row] = await diary().$queryRaw<{ count: number | bigint }[]>`
    SELECT COUNT(*) AS "count" FROM "Photo" p
    WHERE p."viewpointId" = ${viewpointId} AND p."deletedAt" IS NULL AND p."takenAt" < ${instant(before)}
      AND EXISTS (SELECT 1 FROM "Outline" o JOIN "Plot" t ON t."id" = o."plotId" WHERE o."photoId" = p."id" AND o."accepted" AND t."deletedAt" IS NULL)`;
  return Number(row?.count ?? 0);
}

/** The first photo of each viewpoint that a person outlined: what later ones are held against. */
export async function referencePhotos(viewpointIds: readonly string[]): Promise<Map<string, string>> {
  const found = new Map<string, string>();
  for (const viewpointId of new Set(viewpointIds)) {
    const first = await diary().photo.findFirst({
      where: {
        viewpointId,
        deletedAt: null,
        outlines: { some: { accepted: true, origin: { in: PERSONS_ORIGINS }, plot: { deletedAt: null } } },
      },
      orderBy: [{ takenAt: 'asc' }, { sha256: 'asc' }],
      select: { id: true },
    });
    if (first) found.set(viewpointId, first.id);
  }
  return found;
}

/** The size of each viewpoint's first photo: it sets the scale at which all photos from there are read. */
export async function firstSizes(
  viewpointIds: readonly string[],
): Promise<Map<string, { width: number; height: number }>> {
  const found = new Map<string, { width: number; height: number }>();
  for (const viewpointId of new Set(viewpointIds)) {
    const first = await diary().photo.findFirst({
      where: { viewpointId, deletedAt: null },
      orderBy: [{ takenAt: 'asc' }, { sha256: 'asc' }],
      select: { widthPx: true, heightPx: true },
    });
    if (first) found.set(viewpointId, { width: first.widthPx, height: first.heightPx });
  }
  return found;
}

/**
 * Photos of a viewpoint with outlines that count of some plots, before an instant (null: all there are), nearest first
 * (or from the first on, when told so): at most `limit`.
 */
export async function outlinedPhotosBefore(
  viewpointId: string,
  plotIds: readonly string[],
  before: Date | null,
  order: 'nearest' | 'first',
  limit: number,
): Promise<{ id: string; takenAtMs: number; plotIds: string[] }[]> {
  const direction = order === 'nearest' ? 'desc' : 'asc';
  const rows = await diary().photo.findMany({
    where: {
      viewpointId,
      deletedAt: null,
      ...(before ? { takenAt: { lt: before } } : {}),
      outlines: { some: { accepted: true, plotId: { in: [...plotIds] } } },
    },
    orderBy: [{ takenAt: direction }, { sha256: direction }],
    take: limit,
    select: { id: true, takenAt: true, outlines: { where: { accepted: true }, select: { plotId: true } } },
  });
  return rows.map((row) => ({
    id: row.id,
    takenAtMs: row.takenAt.getTime(),
    plotIds: row.outlines.map((outline) => outline.plotId),
  }));
}

/**
 * When a lawn was first sprayed, and first again after more than so many days without, in order. From each spray the
 * last one within the pause is looked up, and where there is none the next one: a few steps a season, however many
 * sprays there are.
 */
export async function firstSpraysAfterPause(lawnId: string, pauseDays: number): Promise<Date[]> {
  const done = Prisma.sql`"lawnId" = ${lawnId} AND "state" = 'done' AND "deletedAt" IS NULL`;
  const within = Prisma.sql`(SELECT s."startedAt" FROM "Spray" s WHERE ${done} AND s."startedAt" > "steps"."at" AND s."startedAt" <= ${daysLater('"steps"."at"', pauseDays)} ORDER BY s."startedAt" DESC LIMIT 1)`;
  const next = Prisma.sql`(SELECT s."startedAt" FROM "Spray" s WHERE ${done} AND s."startedAt" > "steps"."at" ORDER BY s."startedAt" ASC LIMIT 1)`;
  const rows = await diary().$queryRaw<{ startedAt: string | Date }[]>`
    WITH RECURSIVE "steps"("at", "isFirst") AS (
      SELECT (SELECT s."startedAt" FROM "Spray" s WHERE ${done} ORDER BY s."startedAt" ASC LIMIT 1), 1
      UNION ALL
      SELECT COALESCE(${within}, ${next}), CASE WHEN ${within} IS NULL THEN 1 ELSE 0 END FROM "steps" WHERE "steps"."at" IS NOT NULL
    ) SELECT "at" AS "startedAt" FROM "steps" WHERE "at" IS NOT NULL AND "isFirst" = 1 ORDER BY "at"`;
  return rows.map(({ startedAt }) => new Date(startedAt));
}

/** The trials of a lawn with their plots and the civil date from which sprays on these are theirs. */
export async function trialPlots(lawnId: string): Promise<{ startsOn: string; plotIds: string[] }[]> {
  const trials = await diary().trial.findMany({
    where: { lawnId, deletedAt: null },
    select: {
      startsOn: true,
      createdAt: true,
      plots: { select: { plotId: true, plot: { select: { createdAt: true } } } },
    },
  });
  return trials.map((trial) => ({ startsOn: countsFrom(trial), plotIds: trial.plots.map((plot) => plot.plotId) }));
}

/** When a spray was first done on any of some plots, from an instant on (null: ever); null when none was. */
export async function firstSprayOn(
  lawnId: string,
  plotIds: readonly string[],
  from: Date | null,
): Promise<Date | null> {
  const where = {
    lawnId,
    state: 'done',
    deletedAt: null,
    ...(from ? { startedAt: { gte: from } } : {}),
    ...(await coveringPlots(plotIds)),
  };
  return (
    (await diary().spray.findFirst({ where, orderBy: { startedAt: 'asc' }, select: { startedAt: true } }))?.startedAt ??
    null
  );
}

/** Notes what a comparison rests on, with its cautions. */
export async function keepComparisonKey(photoId: string, key: string, cautions: readonly KeptCaution[]): Promise<void> {
  await diary().photo.updateMany({
    where: { id: photoId },
    data: { comparisonKey: key, comparisonCautions: cautions.map((caution) => ({ ...caution })) },
  });
}

/** Notes that outlines are taken as they stand: nothing better can be found. */
export async function adoptOutlines(photoId: string, seen: string | null, key: string): Promise<void> {
  await diary().photo.updateMany({ where: { id: photoId, outlinesKey: seen }, data: { outlinesKey: key } });
}
