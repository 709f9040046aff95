import 'server-only';
import { Prisma } from '@prisma/client';
import type { Point } from '@/lib/photo/pixels';
import type { PlaceOnPlot } from '@/lib/photo/same-patch';
import { personNow } from '@/lib/visit';
import { diary } from './client';
import { inParts } from './in-parts';

export const markKinds = ['silver', 'blackening', 'burn', 'chlorosis', 'other'] as const;
export type MarkKindName = (typeof markKinds)[number];
export type MarkState = 'open' | 'confirmed' | 'dismissed';

const withNames = { plot: { select: { name: true } }, photo: { select: { lawnId: true, takenAt: true, viewpointId: true } } } as const;
type Row = Prisma.MarkGetPayload<{ include: typeof withNames }>;

/** A mark as one photo shows it, without what a person said: that is a Patch's (lib/work/marks.ts puts the two together). */
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
  foundKind: MarkKindName;
  isNew: boolean;
  score: number;
  polygon: Point[];
  areaShare: number;
  areaM2: number | null;
  severityDeltaE00: number | null;
}

export function narrowKind(kind: string): MarkKindName {
  return markKinds.find((known) => known === kind) ?? 'other';
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
    polygon: row.polygon as unknown as Point[],
    areaShare: row.areaShare,
    areaM2: row.areaM2,
    severityDeltaE00: row.severityDeltaE00,
  };
}

export type MarkInput = Omit<Prisma.MarkUncheckedCreateInput, 'photoId' | 'createdAt' | 'state' | 'kindByPerson' | 'note'> & { id: string };

/** Puts the marks found in a photo in place of those found before; a row whose name stays is written over. */
export async function replaceMarks(photoId: string, marks: readonly MarkInput[]): Promise<void> {
  await diary().$transaction([
    diary().mark.deleteMany({ where: { photoId, id: { notIn: marks.map((mark) => mark.id) } } }),
    ...marks.map(({ id, ...mark }) => diary().mark.upsert({ where: { id }, create: { id, photoId, ...mark }, update: { photoId, ...mark } })),
  ]);
}

/** All marks on some plots in photos that aren't in the bin, oldest photo first. */
export async function marksOfPlots(plotIds: readonly string[]): Promise<RawMark[]> {
  const rows = await inParts(plotIds, (part) => diary().mark.findMany({ where: { plotId: { in: part }, photo: { deletedAt: null } }, include: withNames }));
  return rows.map(narrow).sort((a, b) => a.takenAt.getTime() - b.takenAt.getTime() || b.score - a.score);
}

/** A mark without its outline and what it measured: enough to tell which marks are one patch of ground. */
export type MarkPlace = Pick<RawMark, 'id' | 'photoId' | 'plotId' | 'plotName' | 'takenAt' | 'threadId' | 'acrossShare' | 'alongShare' | 'foundKind' | 'isNew'>;

/** The places of all marks on some plots in photos that aren't in the bin, in the order of marksOfPlots; no outline is read. */
export async function markPlaces(plotIds: readonly string[]): Promise<MarkPlace[]> {
  const rows = await inParts(plotIds, (part) => diary().$queryRaw<(Omit<MarkPlace, 'takenAt' | 'foundKind' | 'isNew'> & { takenAt: Date | string; kind: string; isNew: boolean | number; score: number })[]>`
    SELECT m."id", m."photoId", m."plotId", t."name" AS "plotName", p."takenAt", m."threadId", m."acrossShare", m."alongShare", m."kind", m."isNew", m."score"
    FROM "Mark" m JOIN "Photo" p ON p."id" = m."photoId" JOIN "Plot" t ON t."id" = m."plotId" WHERE m."plotId" IN (${Prisma.join(part)}) AND p."deletedAt" IS NULL`);
  return rows
    .map(({ kind, score, takenAt, isNew, ...row }) => ({ ...row, score, takenAt: new Date(takenAt), isNew: Boolean(isNew), foundKind: narrowKind(kind) }))
    .sort((a, b) => a.takenAt.getTime() - b.takenAt.getTime() || b.score - a.score);
}

/** Marks by their names; those that aren't there are left out. */
export async function marksById(ids: readonly string[]): Promise<Map<string, RawMark>> {
  const rows = await inParts(ids, (part) => diary().mark.findMany({ where: { id: { in: part } }, include: withNames }));
  return new Map(rows.map((row) => [row.id, narrow(row)]));
}

/** Which plots of a lawn, not in the bin, have marks in some of its photos (all of them, unless told). */
export async function plotsWithMarks(lawnId: string, photoIds?: readonly string[]): Promise<string[]> {
  const of = (part?: string[]) =>
    diary().mark.findMany({ where: { plot: { lawnId, deletedAt: null }, ...(part ? { photoId: { in: part } } : {}) }, distinct: ['plotId'], select: { plotId: true } });
  const rows = photoIds ? await inParts(photoIds, of) : await of();
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
  kind: MarkKindName | null;
  note: string;
  /** Who said it; null: nobody was signed in by name. */
  byPersonId: string | null;
}

function narrowPatch(row: Prisma.PatchGetPayload<object>): Patch {
  const { judgedAt: _judgedAt, state, kind, ...rest } = row;
  return { ...rest, state: state === 'confirmed' || state === 'dismissed' ? state : 'open', kind: kind === null ? null : narrowKind(kind) };
}

export async function patchesOfPlots(plotIds: readonly string[]): Promise<Patch[]> {
  const rows = await inParts(plotIds, (part) => diary().patch.findMany({ where: { plotId: { in: part } }, orderBy: { judgedAt: 'asc' } }));
  return rows.map(narrowPatch);
}

/** Writes what a person says of a patch of ground; anew, or over what was said of it before: its place stays. */
export async function sayOfPatch(id: string, patch: Omit<Patch, 'id' | 'note' | 'byPersonId'>, judgedAt: Date): Promise<void> {
  const byPersonId = personNow();
  const { acrossShare: _across, alongShare: _along, plotId: _plot, ...said } = patch;
  await diary().patch.upsert({ where: { id }, create: { id, ...patch, judgedAt, byPersonId }, update: { ...said, judgedAt, byPersonId } });
}

/** Patches that came from an earlier version and have no place yet. */
export async function unplacedPatches(plotIds: readonly string[]): Promise<Patch[]> {
  return (await patchesOfPlots(plotIds)).filter((patch) => patch.acrossShare === null);
}

export async function placePatch(id: string, { across, along }: PlaceOnPlot): Promise<void> {
  await diary().patch.updateMany({ where: { id, acrossShare: null }, data: { acrossShare: across, alongShare: along } });
}
