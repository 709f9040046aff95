import 'server-only';
import { diary } from './client';

const binKinds = ['spray', 'photo', 'product', 'trial', 'plot', 'event'] as const;
export type BinKind = (typeof binKinds)[number];

/** One entry in the bin. `label` is its own name where it has one, `at` when it happened where it is an event. */
export interface Binned {
  kind: BinKind;
  id: string;
  label: string;
  at: Date | null;
  deletedAt: Date;
}

/**
 * What was moved to the bin, last moved first: at most `limit` of each kind; products belong to no lawn and come with
 * every lawn.
 */
export async function listBinned(lawnId: string, limit = 100): Promise<Binned[]> {
  const ofLawn = { where: { lawnId, deletedAt: { not: null } }, orderBy: { deletedAt: 'desc' }, take: limit } as const;
  const [sprays, photos, products, trials, plots, events] = await Promise.all([
    diary().spray.findMany({
      ...ofLawn,
      select: {
        id: true,
        startedAt: true,
        deletedAt: true,
        items: { select: { product: { select: { name: true } } } },
      },
    }),
    diary().photo.findMany({ ...ofLawn, select: { id: true, takenAt: true, fileName: true, deletedAt: true } }),
    diary().product.findMany({
      where: { deletedAt: { not: null } },
      orderBy: { deletedAt: 'desc' },
      take: limit,
      select: { id: true, name: true, deletedAt: true },
    }),
    diary().trial.findMany({ ...ofLawn, select: { id: true, name: true, deletedAt: true } }),
    diary().plot.findMany({ ...ofLawn, select: { id: true, name: true, deletedAt: true } }),
    diary().lawnEvent.findMany({
      ...ofLawn,
      select: { id: true, kind: true, at: true, subject: true, deletedAt: true },
    }),
  ]);
  const entries = [
    ...sprays.map((row) => ({
      kind: 'spray' as const,
      id: row.id,
      label: row.items.map((item) => item.product.name).join(' + '),
      at: row.startedAt,
      deletedAt: row.deletedAt,
    })),
    ...photos.map((row) => ({
      kind: 'photo' as const,
      id: row.id,
      label: row.fileName,
      at: row.takenAt,
      deletedAt: row.deletedAt,
    })),
    ...products.map((row) => ({
      kind: 'product' as const,
      id: row.id,
      label: row.name,
      at: null,
      deletedAt: row.deletedAt,
    })),
    ...trials.map((row) => ({
      kind: 'trial' as const,
      id: row.id,
      label: row.name,
      at: null,
      deletedAt: row.deletedAt,
    })),
    ...events.map((row) => ({
      kind: 'event' as const,
      id: row.id,
      label: row.subject || row.kind,
      at: row.at,
      deletedAt: row.deletedAt,
    })),
    ...plots.map((row) => ({ kind: 'plot' as const, id: row.id, label: row.name, at: null, deletedAt: row.deletedAt })),
  ];
  return entries
    .flatMap((entry) => (entry.deletedAt === null ? [] : [{ ...entry, deletedAt: entry.deletedAt }]))
    .sort((a, b) => b.deletedAt.getTime() - a.deletedAt.getTime());
}

/** Moves an entry into the bin (an instant) or out of it (null). @returns false when there is no such entry */
export async function setBinned(kind: BinKind, id: string, deletedAt: Date | null): Promise<boolean> {
  const change = { where: { id }, data: { deletedAt } };
  const moves: Record<BinKind, () => Promise<{ count: number }>> = {
    spray: () => diary().spray.updateMany(change),
    photo: () => diary().photo.updateMany(change),
    product: () => diary().product.updateMany(change),
    trial: () => diary().trial.updateMany(change),
    plot: () => diary().plot.updateMany(change),
    event: () => diary().lawnEvent.updateMany(change),
  };
  return (await moves[kind]()).count === 1;
}

/** Is an entry in the bin (and not deleted for good)? */
export async function isBinned(kind: BinKind, id: string): Promise<boolean> {
  const binned = { where: { id, deletedAt: { not: null } } };
  const counts: Record<BinKind, () => Promise<number>> = {
    spray: () => diary().spray.count(binned),
    photo: () => diary().photo.count(binned),
    product: () => diary().product.count(binned),
    trial: () => diary().trial.count(binned),
    plot: () => diary().plot.count(binned),
    event: () => diary().lawnEvent.count(binned),
  };
  return (await counts[kind]()) > 0;
}

/**
 * Removes a photo's row from the bin with its outlines, readings, changes and marks.
 * @returns what its file is called, or null when it isn't in the bin
 */
export async function removeBinnedPhoto(id: string): Promise<{ sha256: string; kind: string } | null> {
  return diary().$transaction(async (tx) => {
    const photo = await tx.photo.findFirst({
      where: { id, deletedAt: { not: null } },
      select: { sha256: true, kind: true },
    });
    if (!photo) return null;
    await tx.photo.delete({ where: { id } });
    return photo;
  });
}
