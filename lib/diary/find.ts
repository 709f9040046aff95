import 'server-only';
import { diary } from './client';
import { holdsText } from './engine';

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

/** Sprays whose products, plots, note or applicator hold the text, newest first. */
export async function findSprays(lawnId: string, options: FindOptions): Promise<FoundSpray[]> {
  const { text } = options;
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
              { items: { some: { product: { name: holdsText(text) } } } },
              { plots: { some: { plot: { name: plotNamed(text) } } } },
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
  const rows = await diary().photo.findMany({
    where: {
      lawnId,
      deletedAt: null,
      takenAt: span(options),
      ...(text === '' ? {} : { OR: [{ fileName: holdsText(text) }, { note: holdsText(text) }, { viewpoint: { name: holdsText(text) } }] }),
    },
    orderBy: { takenAt: 'desc' },
    take: options.limit,
    select: { id: true, fileName: true, takenAt: true, measureState: true, note: true, viewpoint: { select: { name: true } } },
  });
  return rows.map(({ viewpoint, ...row }) => ({ ...row, viewpointName: viewpoint?.name ?? null }));
}

/** Events whose names or note hold the text, newest first; the word of a kind finds all of that kind. */
export async function findEvents(lawnId: string, options: FindOptions & { kinds: readonly string[] }): Promise<string[]> {
  const { text, kinds } = options;
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
              { kind: { in: [...kinds] } },
              { product: { name: holdsText(text) } },
              { plots: { some: { plot: { name: plotNamed(text) } } } },
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
