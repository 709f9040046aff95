import 'server-only';
import { Prisma } from '@prisma/client';
import { diary } from './client';
import { holdsText } from './engine';
import { holds, instant } from './sql';

/** What is looked for: words anywhere in the text, and a span of instants (`to` not included). */
export interface FindOptions {
  text: string;
  from: Date | null;
  to: Date | null;
  limit: number;
}

const span = ({ from, to }: FindOptions) => ({ ...(from ? { gte: from } : {}), ...(to ? { lt: to } : {}) });

/** Plots are often called by one letter, which stands in every word: such a text has to be the whole name. */
const plotNamed = (text: string) => (text.length === 1 ? { equals: text.toUpperCase() } : holdsText(text));

export interface FoundSpray {
  id: string;
  startedAt: Date;
  state: string;
  note: string;
  products: string[];
  plots: string[];
}

/** Products and plots whose names hold a text: a diary has few of them, and they lead to what is looked for by its index. */
async function namedSo(lawnId: string, text: string): Promise<{ productIds: string[]; plotIds: string[] }> {
  const [products, plots] = await Promise.all([
    diary().product.findMany({ where: { name: holdsText(text) }, select: { id: true } }),
    diary().plot.findMany({ where: { lawnId, name: plotNamed(text) }, select: { id: true } }),
  ]);
  return { productIds: products.map((product) => product.id), plotIds: plots.map((plot) => plot.id) };
}

/** Sprays whose products, plots, note or applicator hold the text, newest first. */
export async function findSprays(lawnId: string, options: FindOptions): Promise<FoundSpray[]> {
  const { text } = options;
  const { productIds, plotIds } = text === '' ? { productIds: [], plotIds: [] } : await namedSo(lawnId, text);
  const rows = await diary().spray.findMany({
    where: {
      lawnId,
      deletedAt: null,
      startedAt: span(options),
      ...(text === ''
        ? {}
        : {
            OR: [
              { note: holdsText(text) },
              { applicator: holdsText(text) },
              ...(productIds.length > 0 ? [{ items: { some: { productId: { in: productIds } } } }] : []),
              ...(plotIds.length > 0 ? [{ plots: { some: { plotId: { in: plotIds } } } }] : []),
            ],
          }),
    },
    orderBy: { startedAt: 'desc' },
    take: options.limit,
    select: {
      id: true,
      startedAt: true,
      state: true,
      note: true,
      items: { orderBy: { mixingOrder: 'asc' }, select: { product: { select: { name: true } } } },
      plots: { select: { plot: { select: { name: true } } } },
    },
  });
  return rows.map(({ items, plots, ...row }) => ({ ...row, products: items.map((item) => item.product.name), plots: plots.map((covered) => covered.plot.name) }));
}

export interface FoundPhoto {
  id: string;
  fileName: string;
  takenAt: Date;
  measureState: string;
  note: string;
  viewpointName: string | null;
}

/** Photos whose file name, note or viewpoint holds the text, newest first. */
export async function findPhotos(lawnId: string, options: FindOptions): Promise<FoundPhoto[]> {
  const { text } = options;
  const where = { lawnId, deletedAt: null, takenAt: span(options) };
  const select = { id: true, fileName: true, takenAt: true, measureState: true, note: true, viewpoint: { select: { name: true } } } as const;
  const read = (more: object) => diary().photo.findMany({ where: { ...where, ...more }, orderBy: { takenAt: 'desc' }, take: options.limit, select });
  const narrow = (rows: Awaited<ReturnType<typeof read>>): FoundPhoto[] => rows.map(({ viewpoint, ...row }) => ({ ...row, viewpointName: viewpoint?.name ?? null }));
  if (text === '') return narrow(await read({}));
  // Each text by the index it has: notes by those that aren't empty, a viewpoint by its photos; file names are looked through in theirs.
  const viewpoints = await diary().viewpoint.findMany({ where: { lawnId, name: holdsText(text) }, select: { id: true } });
  const withText = async (which: Prisma.Sql) => {
    const { from, to } = options;
    const after = from ? Prisma.sql`AND "takenAt" >= ${instant(from)}` : Prisma.empty;
    const until = to ? Prisma.sql`AND "takenAt" < ${instant(to)}` : Prisma.empty;
    const rows = await diary().$queryRaw<{ id: string }[]>`
      SELECT "id" FROM "Photo" WHERE "lawnId" = ${lawnId} AND "deletedAt" IS NULL AND ${which} ${after} ${until} ORDER BY "takenAt" DESC LIMIT ${options.limit}`;
    return rows.length === 0 ? [] : read({ id: { in: rows.map((row) => row.id) } });
  };
  const lists = await Promise.all([
    withText(holds('"fileName"', text)),
    withText(Prisma.sql`"note" <> '' AND ${holds('"note"', text)}`),
    ...viewpoints.map((viewpoint) => read({ viewpointId: viewpoint.id })),
  ]);
  const found = new Map(lists.flat().map((photo) => [photo.id, photo]));
  return narrow([...found.values()].sort((a, b) => b.takenAt.getTime() - a.takenAt.getTime()).slice(0, options.limit));
}

/** Events whose names or note hold the text, newest first; the word of a kind finds all of that kind. */
export async function findEvents(lawnId: string, options: FindOptions & { kinds: readonly string[] }): Promise<string[]> {
  const { text, kinds } = options;
  const { productIds, plotIds } = text === '' ? { productIds: [], plotIds: [] } : await namedSo(lawnId, text);
  const rows = await diary().lawnEvent.findMany({
    where: {
      lawnId,
      deletedAt: null,
      at: span(options),
      ...(text === ''
        ? {}
        : {
            OR: [
              { subject: holdsText(text) },
              { note: holdsText(text) },
              { detail: holdsText(text.replaceAll(' ', '-')) },
              ...(kinds.length > 0 ? [{ kind: { in: [...kinds] } }] : []),
              ...(productIds.length > 0 ? [{ productId: { in: productIds } }] : []),
              ...(plotIds.length > 0 ? [{ plots: { some: { plotId: { in: plotIds } } } }] : []),
            ],
          }),
    },
    orderBy: { at: 'desc' },
    take: options.limit,
    select: { id: true },
  });
  return rows.map((row) => row.id);
}

export interface FoundTrial {
  id: string;
  name: string;
  question: string;
  startsOn: string;
}

/** Trials whose name, question, note or treatments hold the text, newest first; from and to are local dates, YYYY-MM-DD, both inside. */
export async function findTrials(lawnId: string, options: { text: string; fromDay: string | null; toDay: string | null; limit: number }): Promise<FoundTrial[]> {
  const { text, fromDay, toDay } = options;
  return diary().trial.findMany({
    where: {
      lawnId,
      deletedAt: null,
      startsOn: { ...(fromDay ? { gte: fromDay } : {}), ...(toDay ? { lte: toDay } : {}) },
      ...(text === '' ? {} : { OR: [{ name: holdsText(text) }, { question: holdsText(text) }, { note: holdsText(text) }, { treatments: { some: { name: holdsText(text) } } }] }),
    },
    orderBy: { startsOn: 'desc' },
    take: options.limit,
    select: { id: true, name: true, question: true, startsOn: true },
  });
}
