import 'server-only';
import type { Prisma } from '@prisma/client';
import {
  LAWN_EVENT_KINDS,
  PRODUCT_USES,
  RENOVATION_KINDS,
  SIGHTING_KINDS,
  TRAFFIC_KINDS,
  type LawnEvent,
  type LawnEventKind,
} from '@/lib/trial/lawn-event';
import { personNow } from '@/lib/visit';
import { diary } from './client';
import { inParts } from './in-parts';

const parts = {
  plots: { include: { plot: { select: { id: true, name: true } } } },
  product: { select: { id: true, name: true } },
} satisfies Prisma.LawnEventInclude;

type Row = Prisma.LawnEventGetPayload<{ include: typeof parts }>;

/** What a person typed of an event, beside its canonical values, and the names to show. */
export interface EventAsTyped {
  readonly plotNames: readonly string[];
  readonly mowingHeight: { value: number; unit: string } | null;
  readonly water: { value: number; unit: string } | null;
  readonly rate: { value: number; unit: string } | null;
}

/** `byPersonId`: who wrote it down (a person); null: nobody was signed in by name. */
export type EventRow = LawnEvent & { readonly typed: EventAsTyped; readonly byPersonId: string | null };

const amount = (value: number | null, unit: string | null) =>
  value === null || unit === null ? null : { value, unit };

function oneOf<T extends string>(list: readonly T[], text: string | null, fallback: T): T {
  return list.find((one) => one === text) ?? fallback;
}

function narrow(row: Row): EventRow {
  const kind = LAWN_EVENT_KINDS.find((one) => one === row.kind);
  if (!kind) throw new RangeError(`kind of event: expected one of ${LAWN_EVENT_KINDS.join(', ')}, got '${row.kind}'`);
  const common = {
    id: row.id,
    lawnId: row.lawnId,
    at: row.at,
    wholeLawn: row.wholeLawn,
    // Those in the bin too: what happened there lies on the ground still.
    plotIds: row.plots.map(({ plotId }) => plotId),
    note: row.note,
    byPersonId: row.byPersonId,
    typed: {
      plotNames: row.plots.map(({ plot }) => plot.name).sort(),
      mowingHeight: amount(row.mowingHeightEnteredValue, row.mowingHeightEnteredUnit),
      water: amount(row.waterEnteredValue, row.waterEnteredUnit),
      rate: amount(row.rateEnteredValue, row.rateEnteredUnit),
    },
  };
  switch (kind) {
    case 'mowing':
      return {
        ...common,
        kind,
        heightMm: row.mowingHeightMm,
        directionDeg: row.mowingDirectionDeg,
        bladeSharpened: row.bladeSharpened,
      };
    case 'watering':
    case 'rain':
      return { ...common, kind, waterMm: row.waterMm, minutes: row.waterMin };
    case 'product':
      return {
        ...common,
        kind,
        use: oneOf(PRODUCT_USES, row.detail, 'other'),
        productId: row.productId,
        name: row.product?.name ?? row.subject,
        rateKgPerHa: row.rateKgPerHa,
        rateLPerHa: row.rateLPerHa,
      };
    case 'traffic':
      return { ...common, kind, traffic: oneOf(TRAFFIC_KINDS, row.detail, 'feet'), name: row.subject };
    case 'sighting':
      return {
        ...common,
        kind,
        seen: oneOf(SIGHTING_KINDS, row.detail, 'disease'),
        name: row.subject,
        sharePercent: row.sharePercent,
      };
    case 'renovation':
      return { ...common, kind, done: oneOf(RENOVATION_KINDS, row.detail, 'seeded') };
  }
}

/** The columns of an event, without where it lies. */
export type EventFields = Omit<
  Prisma.LawnEventUncheckedCreateInput,
  'id' | 'lawnId' | 'plots' | 'createdAt' | 'deletedAt' | 'wholeLawn' | 'kind'
> & { kind: LawnEventKind };

const onPlots = (plotIds: readonly string[]) => plotIds.map((plotId) => ({ plotId }));

/** Writes an event. @param plotIds none: the whole lawn */
export async function createEvent(lawnId: string, fields: EventFields, plotIds: readonly string[]): Promise<EventRow> {
  const row = await diary().lawnEvent.create({
    data: {
      lawnId,
      byPersonId: personNow(),
      ...fields,
      wholeLawn: plotIds.length === 0,
      plots: { create: onPlots(plotIds) },
    },
    include: parts,
  });
  return narrow(row);
}

/**
 * Writes an event over; plots in the bin keep their place in it. None left: the whole lawn, unless all that it was on
 * lies in the bin and no plot stood there to be unticked.
 */
export async function updateEvent(id: string, fields: EventFields, plotIds: readonly string[]): Promise<EventRow> {
  const row = await diary().$transaction(async (tx) => {
    const unticked = await tx.lawnEventPlot.deleteMany({ where: { eventId: id, plot: { deletedAt: null } } });
    const binned = await tx.lawnEventPlot.count({ where: { eventId: id } });
    const before = await tx.lawnEvent.findUniqueOrThrow({ where: { id }, select: { wholeLawn: true } });
    const stays = binned > 0 && unticked.count === 0 && !before.wholeLawn;
    return tx.lawnEvent.update({
      where: { id },
      data: { ...fields, wholeLawn: plotIds.length === 0 && !stays, plots: { create: onPlots(plotIds) } },
      include: parts,
    });
  });
  return narrow(row);
}

export async function findEvent(id: string): Promise<EventRow | null> {
  const row = await diary().lawnEvent.findFirst({ where: { id, deletedAt: null }, include: parts });
  return row ? narrow(row) : null;
}

/** Events by id, newest first; those in the bin are passed over. */
export async function eventsById(ids: readonly string[]): Promise<EventRow[]> {
  const rows = await inParts(ids, (part) =>
    diary().lawnEvent.findMany({ where: { id: { in: part }, deletedAt: null }, include: parts }),
  );
  return rows.map(narrow).sort(newestFirst);
}

const newestFirst = (a: EventRow, b: EventRow) => b.at.getTime() - a.at.getTime() || (a.id < b.id ? 1 : -1);

export interface EventSpan {
  /** From this instant on, null: no bound. */
  from?: Date | null;
  /** Before this instant, null: no bound. */
  to?: Date | null;
  kinds?: readonly LawnEventKind[];
  /** Only those on one of these plots or on the whole lawn. */
  plotIds?: readonly string[];
  limit?: number;
}

/** Events of a lawn, newest first. */
export async function listEvents(
  lawnId: string,
  { from, to, kinds, plotIds, limit = 100_000 }: EventSpan = {},
): Promise<EventRow[]> {
  const found = await diary().lawnEvent.findMany({
    where: {
      lawnId,
      deletedAt: null,
      at: { ...(from ? { gte: from } : {}), ...(to ? { lt: to } : {}) },
      ...(kinds ? { kind: { in: [...kinds] } } : {}),
      ...(plotIds ? { OR: [{ wholeLawn: true }, { plots: { some: { plotId: { in: [...plotIds] } } } }] } : {}),
    },
    orderBy: [{ at: 'desc' }, { id: 'desc' }],
    take: limit,
    select: { id: true },
  });
  return eventsById(found.map((one) => one.id));
}

/** Moves an event to the bin. */
export async function binEvent(id: string, at: Date): Promise<void> {
  await diary().lawnEvent.update({ where: { id }, data: { deletedAt: at } });
}
