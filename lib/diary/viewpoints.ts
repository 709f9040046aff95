import 'server-only';
import { diary } from './client';

export interface Viewpoint {
  id: string;
  name: string;
  note: string;
}

const fields = { id: true, name: true, note: true } as const;

export async function listViewpoints(lawnId: string): Promise<Viewpoint[]> {
  return diary().viewpoint.findMany({
    where: { lawnId, deletedAt: null },
    orderBy: { createdAt: 'asc' },
    select: fields,
  });
}

export async function findViewpoint(id: string): Promise<(Viewpoint & { lawnId: string }) | null> {
  return diary().viewpoint.findFirst({ where: { id, deletedAt: null }, select: { ...fields, lawnId: true } });
}

/** The viewpoint of this name on the lawn, made when there is none. */
export async function viewpointNamed(lawnId: string, name: string): Promise<Viewpoint> {
  return diary().viewpoint.upsert({
    where: { lawnId_name: { lawnId, name } },
    create: { lawnId, name },
    update: { deletedAt: null },
    select: fields,
  });
}

export interface LastPhoto {
  id: string;
  takenAt: Date;
}

/** The newest photo of a viewpoint, or null when it has none. */
export async function lastPhotoOf(viewpointId: string): Promise<LastPhoto | null> {
  return diary().photo.findFirst({
    where: { viewpointId, deletedAt: null },
    orderBy: { takenAt: 'desc' },
    select: { id: true, takenAt: true },
  });
}
