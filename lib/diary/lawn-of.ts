import 'server-only';
import { diary } from './client';

const lawnId = { lawnId: true } as const;

/** Of which lawn an entry is, by kind; those in the bin count. Null: there is none of this name. */
export const lawnOfEntry = {
  lawn: async (id: string) => (await diary().lawn.findUnique({ where: { id }, select: { id: true } }))?.id ?? null,
  plot: async (id: string) => (await diary().plot.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  sprayer: async (id: string) => (await diary().sprayer.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  spray: async (id: string) => (await diary().spray.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  photo: async (id: string) => (await diary().photo.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  viewpoint: async (id: string) =>
    (await diary().viewpoint.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  trial: async (id: string) => (await diary().trial.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  event: async (id: string) => (await diary().lawnEvent.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
  mark: async (id: string) =>
    (await diary().mark.findUnique({ where: { id }, select: { plot: { select: lawnId } } }))?.plot.lawnId ?? null,
  weatherImport: async (id: string) =>
    (await diary().weatherImport.findUnique({ where: { id }, select: lawnId }))?.lawnId ?? null,
} as const satisfies Record<string, (id: string) => Promise<string | null>>;

export type EntryKind = keyof typeof lawnOfEntry;
