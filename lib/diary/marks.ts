import 'server-only';
import type { Prisma } from '@prisma/client';
import type { Point } from '@/lib/photo/pixels';
import { diary } from './client';

export const markKinds = ['silver', 'blackening', 'burn', 'chlorosis', 'other'] as const;
export type MarkKindName = (typeof markKinds)[number];
export type MarkState = 'open' | 'confirmed' | 'dismissed';

type Row = Prisma.MarkGetPayload<{ include: { plot: { select: { name: true } }; photo: { select: { takenAt: true; viewpointId: true } } } }>;
const withNames = { plot: { select: { name: true } }, photo: { select: { takenAt: true, viewpointId: true } } } as const;

export interface Mark {
  id: string;
  photoId: string;
  plotId: string;
  plotName: string;
  takenAt: Date;
  /** The same patch in several photos shares one thread. */
  threadId: string;
  /** What a person called it, else what the search found. */
  kind: MarkKindName;
  foundKind: MarkKindName;
  state: MarkState;
  isNew: boolean;
  score: number;
  polygon: Point[];
  areaShare: number;
  areaM2: number | null;
  severityDeltaE00: number | null;
}

function narrowKind(kind: string): MarkKindName {
  return markKinds.find((known) => known === kind) ?? 'other';
}

function narrow(row: Row): Mark {
  return {
    id: row.id,
    photoId: row.photoId,
    plotId: row.plotId,
    plotName: row.plot.name,
    takenAt: row.photo.takenAt,
    threadId: row.threadId,
    kind: narrowKind(row.kindByPerson ?? row.kind),
    foundKind: narrowKind(row.kind),
    state: row.state === 'confirmed' || row.state === 'dismissed' ? row.state : 'open',
    isNew: row.isNew,
    score: row.score,
    polygon: row.polygon as unknown as Point[],
    areaShare: row.areaShare,
    areaM2: row.areaM2,
    severityDeltaE00: row.severityDeltaE00,
  };
}

export type MarkInput = Omit<Prisma.MarkUncheckedCreateInput, 'id' | 'photoId' | 'createdAt'>;

/** Puts the marks found in a photo in place of those found before. */
export async function replaceMarks(photoId: string, marks: readonly MarkInput[]): Promise<void> {
  await diary().$transaction([
    diary().mark.deleteMany({ where: { photoId, plot: { deletedAt: null } } }),
    ...marks.map((mark) => diary().mark.create({ data: { photoId, ...mark } })),
  ]);
}

export async function marksOfPhoto(photoId: string): Promise<Mark[]> {
  const rows = await diary().mark.findMany({ where: { photoId, plot: { deletedAt: null } }, include: withNames, orderBy: { score: 'desc' } });
  return rows.map(narrow);
}

/** Marks on one plot, newest photo first. */
export async function marksOfPlot(plotId: string, limit = 200): Promise<Mark[]> {
  const rows = await diary().mark.findMany({ where: { plotId, photo: { deletedAt: null } }, include: withNames, orderBy: { photo: { takenAt: 'desc' } }, take: limit });
  return rows.map(narrow);
}

/** Marks of several photos, those a person dismissed left out: for the diary's line of time. */
export async function openMarksOfPhotos(photoIds: readonly string[]): Promise<Mark[]> {
  const rows = await diary().mark.findMany({ where: { photoId: { in: [...photoIds] }, state: { not: 'dismissed' }, isNew: true, kind: { not: 'other' } }, include: withNames });
  return rows.map(narrow);
}

export async function findMark(id: string): Promise<Mark | null> {
  const row = await diary().mark.findUnique({ where: { id }, include: withNames });
  return row ? narrow(row) : null;
}

/** The marks of one thread, oldest photo first: first and last of them say since when and until when it was seen. */
export async function marksOfThread(threadId: string): Promise<Mark[]> {
  const rows = await diary().mark.findMany({ where: { threadId }, include: withNames, orderBy: { photo: { takenAt: 'asc' } } });
  return rows.map(narrow);
}

/** What a person says of a mark: it holds for the same patch in this photo and in later ones. */
export async function judgeMark(id: string, judgement: { state: MarkState; kind?: MarkKindName }): Promise<void> {
  const mark = await findMark(id);
  if (!mark) return;
  await diary().mark.updateMany({
    where: { threadId: mark.threadId, photo: { takenAt: { gte: mark.takenAt } } },
    data: { state: judgement.state, ...(judgement.kind ? { kindByPerson: judgement.kind } : {}) },
  });
}

/** When each thread was first seen. */
export async function firstSeen(threadIds: readonly string[]): Promise<Map<string, Date>> {
  const rows = await diary().mark.findMany({ where: { threadId: { in: [...threadIds] } }, select: { threadId: true, photo: { select: { takenAt: true } } } });
  const first = new Map<string, Date>();
  for (const { threadId, photo } of rows) {
    const known = first.get(threadId);
    if (!known || photo.takenAt < known) first.set(threadId, photo.takenAt);
  }
  return first;
}
