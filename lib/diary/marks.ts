import 'server-only';
import { pointsOf } from '@/lib/photo/raster/points';
import { Prisma } from '@prisma/client';
import { MARK_KINDS, type MarkKind } from '@/lib/photo/marks/kind';
import type { Point } from '@/lib/photo/raster/pixels';
import type { PlaceOnPlot } from '@/lib/photo/marks/same-patch';
import { personNow } from '@/lib/visit';
import { diary } from './client';
import { holdPhoto } from './hold-photo';
import { inParts } from './in-parts';
import { readRows } from './read-rows';

export type MarkState = 'open' | 'confirmed' | 'dismissed';

const withNames = {
  plot: { select: { name: true } },
  photo: { select: { lawnId: true, takenAt: true, viewpointId: true } },
} as const;
type Row = Prisma.MarkGetPayload<{ include: typeof withNames }>;

/**
 * A mark as one photo shows it, without what a person said: that is a Patch's (lib/work/photos/marks.ts puts the two
 * together).
 */
export interface RawMark {
  id: string;
  lawnId: string;
  photoId: string;
  plotId: string;
  plotName: string;
  takenAt: Date;
  /** The thread's name of an earlier version; where it names a Patch without a place, the mark is that patch's. */
  threadId: string;
  acrossShare: number | null;
  alongShare: number | null;
  foundKind: MarkKind;
  isNew: boolean;
  score: number;
  polygon: Point[];
  areaShare: number;
  areaM2: number | null;
  severityDeltaE00: number | null;
}

function narrowKind(kind: string): MarkKind {
  return MARK_KINDS.find((known) => known === kind) ?? 'other';
}

function narrow(row: Row): RawMark {
  return {
    id: row.id,
    lawnId: row.photo.lawnId,
    photoId: row.photoId,
    plotId: row.plotId,
    plotName: row.plot.name,
    takenAt: row.photo.takenAt,
    threadId: row.threadId,
    acrossShare: row.acrossShare,
    alongShare: row.alongShare,
    foundKind: narrowKind(row.kind),
    isNew: row.isNew,
    score: row.score,
    polygon: pointsOf(row.polygon),
    areaShare: row.areaShare,
    areaM2: row.areaM2,
    severityDeltaE00: row.severityDeltaE00,
  };
}

export type MarkInput = Omit<
  Prisma.MarkUncheckedCreateInput,
  'photoId' | 'createdAt' | 'state' | 'kindByPerson' | 'note'
> & { id: string };

/** Puts the marks found in a photo in place of those found before; a row whose name stays is written over. */
export async function replaceMarks(photoId: string, marks: readonly MarkInput[]): Promise<void> {
  await diary().$transaction([
    holdPhoto(photoId),
    diary().mark.deleteMany({ where: { photoId, id: { notIn: marks.map((mark) => mark.id) } } }),
    ...marks.map(({ id, ...mark }) =>
      diary().mark.upsert({ where: { id }, create: { id, photoId, ...mark }, update: { photoId, ...mark } }),
    ),
  ]);
}

/** All marks on some plots in photos that aren't in the bin, oldest photo first. */
export async function marksOfPlots(plotIds: readonly string[]): Promise<RawMark[]> {
  const rows = await inParts(plotIds, (part) =>
    diary().mark.findMany({ where: { plotId: { in: part }, photo: { deletedAt: null } }, include: withNames }),
  );
  return rows.map(narrow).sort((a, b) => a.takenAt.getTime() - b.takenAt.getTime() || b.score - a.score);
}

/** A mark without its outline and what it measured: enough to tell which marks are one patch of ground. */
export type MarkPlace = Pick<
  RawMark,
  | 'id'
  | 'photoId'
  | 'plotId'
  | 'plotName'
  | 'takenAt'
  | 'threadId'
  | 'acrossShare'
  | 'alongShare'
  | 'foundKind'
  | 'isNew'
>;

/**
 * The places of all marks on some plots in photos that aren't in the bin, in the order of marksOfPlots; no outline is
 * read.
 */
export async function markPlaces(plotIds: readonly string[]): Promise<MarkPlace[]> {
  type Cells = [
    id: string,
    photoId: string,
    plotId: string,
    takenAt: string,
    threadId: string,
    across: number | null,
    along: number | null,
    kind: string,
    isNew: boolean | number,
    score: number,
  ];
  const columns = [
    'm."id"',
    'm."photoId"',
    'm."plotId"',
    'p."takenAt"',
    'm."threadId"',
    'm."acrossShare"',
    'm."alongShare"',
    'm."kind"',
    'm."isNew"',
    'm."score"',
  ];
  const rows = await inParts(plotIds, (part) =>
    readRows<Cells>(
      columns,
      Prisma.sql`"Mark" m JOIN "Photo" p ON p."id" = m."photoId" WHERE m."plotId" IN (${Prisma.join(part)}) AND p."deletedAt" IS NULL`,
    ),
  );
  if (rows.length === 0) return [];
  const names = new Map(
    (
      await diary().plot.findMany({
        where: { id: { in: [...new Set(rows.map(([, , plotId]) => plotId))] } },
        select: { id: true, name: true },
      })
    ).map((plot) => [plot.id, plot.name]),
  );
  return rows
    .map(([id, photoId, plotId, takenAt, threadId, acrossShare, alongShare, kind, isNew, score]) => ({
      id,
      photoId,
      plotId,
      plotName: names.get(plotId) ?? '',
      takenAt: new Date(takenAt),
      threadId,
      acrossShare,
      alongShare,
      foundKind: narrowKind(kind),
      isNew: Boolean(isNew),
      score,
    }))
    .sort((a, b) => a.takenAt.getTime() - b.takenAt.getTime() || b.score - a.score);
}

/** The marks in one photo. */
export async function marksOfPhoto(photoId: string): Promise<RawMark[]> {
  return (await diary().mark.findMany({ where: { photoId, photo: { deletedAt: null } }, include: withNames }))
    .map(narrow)
    .sort((a, b) => b.score - a.score);
}

/** Marks by their names; those that aren't there are left out. */
export async function marksById(ids: readonly string[]): Promise<Map<string, RawMark>> {
  const rows = await inParts(ids, (part) => diary().mark.findMany({ where: { id: { in: part } }, include: withNames }));
  return new Map(rows.map((row) => [row.id, narrow(row)]));
}

/** Which plots of a lawn, not in the bin, have marks in some of its photos (all of them, unless told). */
export async function plotsWithMarks(lawnId: string, photoIds?: readonly string[]): Promise<string[]> {
  if (photoIds === undefined) {
    return (
      await diary().$queryRaw<
        { id: string }[]
      >`SELECT t."id" FROM "Plot" t WHERE t."lawnId" = ${lawnId} AND t."deletedAt" IS NULL AND EXISTS (SELECT 1 FROM "Mark" m WHERE m."plotId" = t."id")`
    ).map((row) => row.id);
  }
  const rows = await inParts(
    photoIds,
    (part) => diary().$queryRaw<{ plotId: string }[]>`
    SELECT DISTINCT m."plotId" FROM "Mark" m JOIN "Plot" t ON t."id" = m."plotId" WHERE m."photoId" IN (${Prisma.join(part)}) AND t."lawnId" = ${lawnId} AND t."deletedAt" IS NULL`,
  );
  return [...new Set(rows.map((row) => row.plotId))];
}

export async function findRawMark(id: string): Promise<RawMark | null> {
  const row = await diary().mark.findUnique({ where: { id }, include: withNames });
  return row ? narrow(row) : null;
}

/** What a person said of a patch of ground. */
export interface Patch {
  id: string;
  plotId: string;
  acrossShare: number | null;
  alongShare: number | null;
  seenFrom: Date;
  seenTo: Date;
  state: MarkState;
  /** What a person calls it; null: what the search found. */
  kind: MarkKind | null;
  note: string;
  /** Who said it; null: nobody was signed in by name. */
  byPersonId: string | null;
}

function narrowPatch(row: Prisma.PatchGetPayload<object>): Patch {
  const { judgedAt: _judgedAt, state, kind, ...rest } = row;
  return {
    ...rest,
    state: state === 'confirmed' || state === 'dismissed' ? state : 'open',
    kind: kind === null ? null : narrowKind(kind),
  };
}

export async function patchesOfPlots(plotIds: readonly string[]): Promise<Patch[]> {
  const rows = await inParts(plotIds, (part) =>
    diary().patch.findMany({ where: { plotId: { in: part } }, orderBy: { judgedAt: 'asc' } }),
  );
  return rows.map(narrowPatch);
}

/** Writes what a person says of a patch of ground; anew, or over what was said of it before: its place stays. */
export async function sayOfPatch(
  id: string,
  patch: Omit<Patch, 'id' | 'note' | 'byPersonId'>,
  judgedAt: Date,
): Promise<void> {
  const byPersonId = personNow();
  const { acrossShare: _across, alongShare: _along, plotId: _plot, ...said } = patch;
  await diary().patch.upsert({
    where: { id },
    create: { id, ...patch, judgedAt, byPersonId },
    update: { ...said, judgedAt, byPersonId },
  });
}

/** Patches that came from an earlier version and have no place yet. */
export async function unplacedPatches(plotIds: readonly string[]): Promise<Patch[]> {
  return (await patchesOfPlots(plotIds)).filter((patch) => patch.acrossShare === null);
}

export async function placePatch(id: string, { across, along }: PlaceOnPlot): Promise<void> {
  await diary().patch.updateMany({
    where: { id, acrossShare: null },
    data: { acrossShare: across, alongShare: along },
  });
}
