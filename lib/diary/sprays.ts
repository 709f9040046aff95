import 'server-only';
import { Prisma } from '@prisma/client';
import { personNow } from '@/lib/visit';
import { diary } from './client';
import { fewOfPlots } from './few-of-plots';
import { inParts, PART } from './in-parts';
import { readRows } from './read-rows';
import { instant } from './sql';

export type SprayState = 'planned' | 'done';

const parts = {
  items: {
    orderBy: { mixingOrder: 'asc' },
    include: { product: { select: { id: true, name: true, form: true, role: true } } },
  },
  plots: { include: { plot: { select: { id: true, name: true, isCheck: true } } } },
  sprayer: { select: { id: true, name: true } },
} satisfies Prisma.SprayInclude;

type Row = Prisma.SprayGetPayload<{ include: typeof parts }>;

export type Spray = Omit<Row, 'deletedAt' | 'createdAt' | 'state'> & { state: SprayState };

function narrow(row: Row): Spray {
  const { deletedAt: _deletedAt, createdAt: _createdAt, state, ...rest } = row;
  return { ...rest, state: state === 'planned' ? 'planned' : 'done' };
}

export interface SprayItemInput {
  productId: string;
  rateEnteredValue: number;
  rateEnteredUnit: string;
  rateKgPerHa: number | null;
  rateLPerHa: number | null;
  plannedKg?: number | null;
  plannedL?: number | null;
  actualKg?: number | null;
  actualL?: number | null;
  actualEnteredValue?: number | null;
  actualEnteredUnit?: string | null;
}

export type SprayFields = Omit<
  Prisma.SprayUncheckedCreateInput,
  'id' | 'lawnId' | 'items' | 'plots' | 'photos' | 'createdAt' | 'deletedAt'
>;

const itemRows = (items: readonly SprayItemInput[]) => items.map((item, index) => ({ ...item, mixingOrder: index }));

/** Writes a spray with its items and plots in one transaction. */
export async function createSpray(
  lawnId: string,
  fields: SprayFields,
  items: readonly SprayItemInput[],
  plots: readonly { plotId: string; areaM2: number }[],
): Promise<Spray> {
  const row = await diary().spray.create({
    data: {
      lawnId,
      byPersonId: personNow(),
      ...fields,
      items: { create: itemRows(items) },
      plots: { create: plots.map((plot) => ({ ...plot })) },
    },
    include: parts,
  });
  return narrow(row);
}

/** Replaces a spray's fields, items and plots in one transaction. */
export async function updateSpray(
  id: string,
  fields: SprayFields,
  items: readonly SprayItemInput[],
  plots: readonly { plotId: string; areaM2: number }[],
): Promise<Spray> {
  const row = await diary().spray.update({
    where: { id },
    data: {
      ...fields,
      items: { deleteMany: {}, create: itemRows(items) },
      plots: { deleteMany: {}, create: plots.map((plot) => ({ ...plot })) },
    },
    include: parts,
  });
  return narrow(row);
}

export async function findSpray(id: string): Promise<Spray | null> {
  const row = await diary().spray.findFirst({ where: { id, deletedAt: null }, include: parts });
  return row ? narrow(row) : null;
}

/**
 * The condition that a spray covered one of some plots. Plots that were rarely sprayed lead to their sprays; else
 * sprays are looked through by time.
 */
export async function coveringPlots(
  plotIds: readonly string[],
): Promise<{ id: { in: string[] } } | { plots: { some: { plotId: { in: string[] } } } }> {
  const few = await fewOfPlots('sprays', plotIds);
  return few ? { id: { in: few } } : { plots: { some: { plotId: { in: [...plotIds] } } } };
}

/**
 * Sprays of a lawn, newest first: at most `limit` when given, those before `before` and not before `after` when given,
 * on one plot or any of several when given.
 */
export async function listSprays(
  lawnId: string,
  options: { before?: Date; after?: Date; plotId?: string; plotIds?: readonly string[]; limit?: number },
): Promise<Spray[]> {
  const where = {
    lawnId,
    deletedAt: null,
    ...(options.before || options.after
      ? {
          startedAt: {
            ...(options.before ? { lt: options.before } : {}),
            ...(options.after ? { gte: options.after } : {}),
          },
        }
      : {}),
    ...(options.plotId
      ? await coveringPlots([options.plotId])
      : options.plotIds
        ? await coveringPlots(options.plotIds)
        : {}),
  };
  const rows: Row[] = [];
  const limit = options.limit ?? Infinity;
  while (rows.length < limit) {
    const take = Math.min(PART, limit - rows.length);
    const part = await diary().spray.findMany({
      where,
      orderBy: [{ startedAt: 'desc' }, { id: 'desc' }],
      skip: rows.length,
      take,
      include: parts,
    });
    rows.push(...part);
    if (part.length < take) break;
  }
  return rows.map(narrow);
}

const factsParts = {
  items: { orderBy: { mixingOrder: 'asc' }, include: { product: true } },
  plots: { include: { plot: { select: { id: true, name: true } } } },
  sprayer: { select: { id: true, name: true } },
} satisfies Prisma.SprayInclude;

/** A spray with all that is known of its products: for label checks and records. */
export type SprayWithProducts = Prisma.SprayGetPayload<{ include: typeof factsParts }>;

/** Sprays of a lawn from one instant up to, not including, another (null: no bound), oldest first, planned ones too. */
export async function spraysBetween(lawnId: string, from: Date | null, to: Date | null): Promise<SprayWithProducts[]> {
  const found = await diary().spray.findMany({
    where: { lawnId, deletedAt: null, startedAt: { ...(from ? { gte: from } : {}), ...(to ? { lt: to } : {}) } },
    orderBy: { startedAt: 'asc' },
    select: { id: true },
  });
  return inParts(
    found.map((spray) => spray.id),
    (ids) => diary().spray.findMany({ where: { id: { in: ids } }, orderBy: { startedAt: 'asc' }, include: factsParts }),
  );
}

/** A spray as label checks see it: amounts and plots, nothing of its products. */
export interface PastSprayRow {
  id: string;
  startedAt: Date;
  endedAt: Date | null;
  state: SprayState;
  /** In the order they were mixed. */
  items: {
    productId: string;
    rateKgPerHa: number | null;
    rateLPerHa: number | null;
    actualKg: number | null;
    actualL: number | null;
  }[];
  plots: { plotId: string; areaM2: number }[];
}

/** Sprays of a lawn from one instant up to, not including, another, oldest first, planned ones too. */
export async function pastSprays(lawnId: string, from: Date, to: Date): Promise<PastSprayRow[]> {
  const shown = Prisma.sql`(SELECT "id", "startedAt", "endedAt", "state" FROM "Spray" WHERE "lawnId" = ${lawnId} AND "deletedAt" IS NULL AND "startedAt" >= ${instant(from)} AND "startedAt" < ${instant(to)}) s`;
  type Amount = number | null;
  const [sprays, items, plots] = await Promise.all([
    readRows<[string, string, string | null, string]>(['s."id"', 's."startedAt"', 's."endedAt"', 's."state"'], shown),
    readRows<[string, number, string, Amount, Amount, Amount, Amount]>(
      [
        'i."sprayId"',
        'i."mixingOrder"',
        'i."productId"',
        'i."rateKgPerHa"',
        'i."rateLPerHa"',
        'i."actualKg"',
        'i."actualL"',
      ],
      Prisma.sql`${shown} JOIN "SprayItem" i ON i."sprayId" = s."id"`,
    ),
    readRows<[string, string, number]>(
      ['p."sprayId"', 'p."plotId"', 'p."areaM2"'],
      Prisma.sql`${shown} JOIN "SprayPlot" p ON p."sprayId" = s."id"`,
    ),
  ]);
  const found = new Map(
    sprays.map(([id, startedAt, endedAt, state]): [string, PastSprayRow] => [
      id,
      {
        id,
        startedAt: new Date(startedAt),
        endedAt: endedAt === null ? null : new Date(endedAt),
        state: state === 'planned' ? 'planned' : 'done',
        items: [],
        plots: [],
      },
    ]),
  );
  for (const [sprayId, , productId, rateKgPerHa, rateLPerHa, actualKg, actualL] of items.toSorted(
    (a, b) => a[1] - b[1],
  ))
    found.get(sprayId)?.items.push({ productId, rateKgPerHa, rateLPerHa, actualKg, actualL });
  for (const [sprayId, plotId, areaM2] of plots) found.get(sprayId)?.plots.push({ plotId, areaM2 });
  return [...found.values()].sort((a, b) => a.startedAt.getTime() - b.startedAt.getTime());
}

/**
 * Of each of some plots the last spray done on it until an instant, oldest first, each once; of the newest
 * `lookThrough` sprays of the lawn until then, plans among them: what lies further back is left out.
 */
export async function lastDoneOn(
  lawnId: string,
  plotIds: readonly string[],
  until: Date,
  lookThrough: number,
): Promise<Spray[]> {
  const where = { lawnId, deletedAt: null, startedAt: { lte: until } };
  const newestFirst = [{ startedAt: 'desc' }, { id: 'desc' }] satisfies Prisma.SprayOrderByWithRelationInput[];
  const [oldest, ...last] = await Promise.all([
    diary().spray.findFirst({
      where,
      orderBy: newestFirst,
      skip: lookThrough - 1,
      select: { id: true, startedAt: true },
    }),
    ...plotIds.map(async (plotId) =>
      diary().spray.findFirst({
        where: { ...where, state: 'done', ...(await coveringPlots([plotId])) },
        orderBy: newestFirst,
        select: { id: true, startedAt: true },
      }),
    ),
  ]);
  const within = last.flatMap((spray) =>
    spray &&
    (!oldest ||
      spray.startedAt > oldest.startedAt ||
      (spray.startedAt.getTime() === oldest.startedAt.getTime() && spray.id >= oldest.id))
      ? [spray.id]
      : [],
  );
  if (within.length === 0) return [];
  const rows = await diary().spray.findMany({ where: { id: { in: within } }, include: parts });
  return rows.map(narrow).sort((a, b) => a.startedAt.getTime() - b.startedAt.getTime() || (a.id < b.id ? -1 : 1));
}

/** When sprays were done on some plots, oldest first, with the plots each covered. */
export async function doneOnPlots(
  lawnId: string,
  plotIds: readonly string[],
): Promise<{ id: string; startedAt: Date; plotIds: string[] }[]> {
  const rows = await diary().spray.findMany({
    where: { lawnId, state: 'done', deletedAt: null, ...(await coveringPlots(plotIds)) },
    orderBy: { startedAt: 'asc' },
    select: { id: true, startedAt: true, plots: { select: { plotId: true } } },
  });
  return rows.map(({ plots, ...spray }) => ({ ...spray, plotIds: plots.map((plot) => plot.plotId) }));
}

/** Plans of a lawn that haven't become sprays, the next one first. */
export async function listPlans(lawnId: string): Promise<Spray[]> {
  return (
    await diary().spray.findMany({
      where: { lawnId, state: 'planned', deletedAt: null },
      orderBy: { startedAt: 'asc' },
      take: 100,
      include: parts,
    })
  ).map(narrow);
}

/** What really went out of one item; nothing else of it changes. */
export interface ActualAmount {
  itemId: string;
  actualKg: number | null;
  actualL: number | null;
  actualEnteredValue: number | null;
  actualEnteredUnit: string | null;
}

/** Turns a plan into a spray that was done, in one transaction. @returns false when it is no plan (any more) */
export async function finishPlan(
  id: string,
  fields: Prisma.SprayUncheckedUpdateManyInput,
  actuals: readonly ActualAmount[],
): Promise<boolean> {
  return diary().$transaction(async (tx) => {
    const changed = await tx.spray.updateMany({
      where: { id, state: 'planned', deletedAt: null },
      data: { ...fields, byPersonId: personNow(), state: 'done' },
    });
    if (changed.count !== 1) return false;
    for (const { itemId, ...amount } of actuals)
      await tx.sprayItem.update({ where: { id: itemId, sprayId: id }, data: amount });
    return true;
  });
}

/** The last spray done on this lawn before an instant: what a photo taken then follows. */
export async function lastSprayBefore(lawnId: string, instant: Date): Promise<{ id: string; startedAt: Date } | null> {
  return diary().spray.findFirst({
    where: { lawnId, state: 'done', deletedAt: null, startedAt: { lte: instant } },
    orderBy: { startedAt: 'desc' },
    select: { id: true, startedAt: true },
  });
}

/** Moves a spray to the bin. */
export async function binSpray(id: string, at: Date): Promise<void> {
  await diary().spray.update({ where: { id }, data: { deletedAt: at } });
}

export interface SprayMoment {
  id: string;
  startedAt: Date;
  endedAt: Date | null;
  weatherSource: string | null;
  plotNames: string[];
}

/** When sprays that were done took place in a span, oldest first, with the names of the plots they covered. */
export async function sprayMoments(lawnId: string, from: Date, to: Date): Promise<SprayMoment[]> {
  const rows = await diary().spray.findMany({
    where: { lawnId, deletedAt: null, state: 'done', startedAt: { gte: from, lt: to } },
    orderBy: { startedAt: 'asc' },
    select: {
      id: true,
      startedAt: true,
      endedAt: true,
      weatherSource: true,
      plots: { select: { plot: { select: { name: true } } } },
    },
  });
  return rows.map(({ plots, ...row }) => ({ ...row, plotNames: plots.map((covered) => covered.plot.name).sort() }));
}

export interface SprayWeather {
  airTempC: number | null;
  relHumidityPercent: number | null;
  windMPerS: number | null;
  windFromDeg: number | null;
  rainBeforeMm: number | null;
}

/**
 * Puts weather from the hours to a spray, unless a person typed it.
 * @param weather null takes away again what came from hours
 */
export async function setSprayWeather(id: string, weather: SprayWeather | null): Promise<void> {
  const nothing = { airTempC: null, relHumidityPercent: null, windMPerS: null, windFromDeg: null, rainBeforeMm: null };
  await diary().spray.updateMany({
    where: {
      id,
      OR: [
        { weatherSource: null },
        { weatherSource: 'hours' },
        ...(weather === null ? [] : [{ weatherSource: 'plan' }]),
      ],
    },
    data: { ...(weather ?? nothing), weatherSource: weather === null ? null : 'hours' },
  });
}
