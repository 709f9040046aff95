import 'server-only';
import { Prisma } from '@prisma/client';
import { diary } from './client';
import { holdsText } from './engine';
import { columnHolds, instant } from './sql';

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

/**
 * Products and plots whose names hold a text: a diary has few of them, and they lead to what is looked for by its
 * index.
 */
async function namedSo(lawnId: string, text: string): Promise<{ productIds: string[]; plotIds: string[] }> {
  const [products, plots] = await Promise.all([
    diary().product.findMany({ where: { name: holdsText(text) }, select: { id: true } }),
    diary().plot.findMany({ where: { lawnId, name: plotNamed(text) }, select: { id: true } }),
  ]);
  return { productIds: products.map((product) => product.id), plotIds: plots.map((plot) => plot.id) };
}

/**
 * The ids of a lawn's rows that hold a text, the newest first, with a span of their instants: `at` is that column,
 * `which` the condition.
 */
async function idsWith(
  table: 'Spray' | 'Photo' | 'LawnEvent',
  at: 'startedAt' | 'takenAt' | 'at',
  lawnId: string,
  which: Prisma.Sql,
  { from, to, limit }: FindOptions,
): Promise<string[]> {
  const column = Prisma.raw(`"${at}"`);
  const after = from ? Prisma.sql`AND ${column} >= ${instant(from)}` : Prisma.empty;
  const until = to ? Prisma.sql`AND ${column} < ${instant(to)}` : Prisma.empty;
  const rows = await diary().$queryRaw<{ id: string }[]>`
    SELECT "id" FROM ${Prisma.raw(`"${table}"`)} WHERE "lawnId" = ${lawnId} AND "deletedAt" IS NULL AND ${which} ${after} ${until} ORDER BY ${column} DESC LIMIT ${limit}`;
  return rows.map((row) => row.id);
}

/** One of two lists' rows once, the newest first. */
function newestOf<Row extends { id: string }>(
  lists: readonly (readonly Row[])[],
  at: (row: Row) => Date,
  limit: number,
): Row[] {
  return [...new Map(lists.flat().map((row) => [row.id, row])).values()]
    .sort((a, b) => at(b).getTime() - at(a).getTime())
    .slice(0, limit);
}

/** Sprays whose products, plots, note or applicator hold the text, newest first. Each by the index it has. */
export async function findSprays(lawnId: string, options: FindOptions): Promise<FoundSpray[]> {
  const { text } = options;
  const read = async (more: object): Promise<FoundSpray[]> => {
    const rows = await diary().spray.findMany({
      where: { lawnId, deletedAt: null, startedAt: span(options), ...more },
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
    return rows.map(({ items, plots, ...row }) => ({
      ...row,
      products: items.map((item) => item.product.name),
      plots: plots.map((covered) => covered.plot.name),
    }));
  };
  if (text === '') return read({});
  const { productIds, plotIds } = await namedSo(lawnId, text);
  const worded = await idsWith(
    'Spray',
    'startedAt',
    lawnId,
    Prisma.sql`("note" <> '' OR "applicator" <> '') AND (${columnHolds('"note"', text)} OR ${columnHolds('"applicator"', text)})`,
    options,
  );
  return newestOf(
    [
      worded.length > 0 ? await read({ id: { in: worded } }) : [],
      productIds.length > 0 ? await read({ items: { some: { productId: { in: productIds } } } }) : [],
      plotIds.length > 0 ? await read({ plots: { some: { plotId: { in: plotIds } } } }) : [],
    ],
    (spray) => spray.startedAt,
    options.limit,
  );
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
  const select = {
    id: true,
    fileName: true,
    takenAt: true,
    measureState: true,
    note: true,
    viewpoint: { select: { name: true } },
  } as const;
  const read = (more: object) =>
    diary().photo.findMany({ where: { ...where, ...more }, orderBy: { takenAt: 'desc' }, take: options.limit, select });
  const narrow = (rows: Awaited<ReturnType<typeof read>>): FoundPhoto[] =>
    rows.map(({ viewpoint, ...row }) => ({ ...row, viewpointName: viewpoint?.name ?? null }));
  if (text === '') return narrow(await read({}));
  // Each text by the index it has: notes by those that aren't empty, a viewpoint by its photos; file names are looked
  // through in theirs.
  const viewpoints = await diary().viewpoint.findMany({
    where: { lawnId, name: holdsText(text) },
    select: { id: true },
  });
  const withText = async (which: Prisma.Sql) => {
    const ids = await idsWith('Photo', 'takenAt', lawnId, which, options);
    return ids.length === 0 ? [] : read({ id: { in: ids } });
  };
  const lists = await Promise.all([
    withText(columnHolds('"fileName"', text)),
    withText(Prisma.sql`"note" <> '' AND ${columnHolds('"note"', text)}`),
    ...viewpoints.map((viewpoint) => read({ viewpointId: viewpoint.id })),
  ]);
  return narrow(newestOf(lists, (photo) => photo.takenAt, options.limit));
}

/**
 * Events whose names or note hold the text, newest first; the word of a kind finds all of that kind. Each by the index
 * it has.
 */
export async function findEvents(
  lawnId: string,
  options: FindOptions & { kinds: readonly string[] },
): Promise<string[]> {
  const { text, kinds } = options;
  const read = (more: object) =>
    diary().lawnEvent.findMany({
      where: { lawnId, deletedAt: null, at: span(options), ...more },
      orderBy: { at: 'desc' },
      take: options.limit,
      select: { id: true, at: true },
    });
  if (text === '') return (await read({})).map((row) => row.id);
  const { productIds, plotIds } = await namedSo(lawnId, text);
  const worded = await idsWith(
    'LawnEvent',
    'at',
    lawnId,
    Prisma.sql`("note" <> '' OR "subject" <> '' OR "detail" IS NOT NULL) AND (${columnHolds('"subject"', text)} OR ${columnHolds('"note"', text)} OR ${columnHolds('"detail"', text.replaceAll(' ', '-'))})`,
    options,
  );
  return newestOf(
    [
      worded.length > 0 ? await read({ id: { in: worded } }) : [],
      kinds.length > 0 ? await read({ kind: { in: [...kinds] } }) : [],
      productIds.length > 0 ? await read({ productId: { in: productIds } }) : [],
      plotIds.length > 0 ? await read({ plots: { some: { plotId: { in: plotIds } } } }) : [],
    ],
    (event) => event.at,
    options.limit,
  ).map((row) => row.id);
}

export interface FoundTrial {
  id: string;
  name: string;
  question: string;
  startsOn: string;
}

/**
 * Trials whose name, question, note or treatments hold the text, newest first; from and to are local dates, YYYY-MM-DD,
 * both inside.
 */
export async function findTrials(
  lawnId: string,
  options: { text: string; fromDay: string | null; toDay: string | null; limit: number },
): Promise<FoundTrial[]> {
  const { text, fromDay, toDay } = options;
  return diary().trial.findMany({
    where: {
      lawnId,
      deletedAt: null,
      startsOn: { ...(fromDay ? { gte: fromDay } : {}), ...(toDay ? { lte: toDay } : {}) },
      ...(text === ''
        ? {}
        : {
            OR: [
              { name: holdsText(text) },
              { question: holdsText(text) },
              { note: holdsText(text) },
              { treatments: { some: { name: holdsText(text) } } },
            ],
          }),
    },
    orderBy: { startsOn: 'desc' },
    take: options.limit,
    select: { id: true, name: true, question: true, startsOn: true },
  });
}
