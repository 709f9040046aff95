import 'server-only';
import { Prisma } from '@prisma/client';
import type { PlotGround } from '@/lib/trial/plot-ground';
import { diary } from './client';

export type PlanPoint = [xM: number, yM: number];

export interface Plot {
  id: string;
  lawnId: string;
  name: string;
  isCheck: boolean;
  polygonM: PlanPoint[] | null;
  areaM2: number;
  areaEnteredValue: number | null;
  areaEnteredUnit: string | null;
  /** Where it lies, as far as somebody said: see `lib/trial/plot-ground.ts`. */
  groundPlace: PlotGround['groundPlace'];
  insidePlotId: string | null;
  note: string;
}

/** What is known of a plot; a new one may leave out an area nobody typed. */
export type PlotInput = Omit<Plot, 'id' | 'lawnId' | 'groundPlace' | 'insidePlotId'> &
  Partial<Pick<Plot, 'groundPlace' | 'insidePlotId'>>;
export type NewPlot = Omit<PlotInput, 'areaEnteredValue' | 'areaEnteredUnit'> & Partial<PlotInput>;

const GROUND_PLACES = ['plan', 'inside', 'apart'] as const;
const placeOf = (text: string | null) => GROUND_PLACES.find((place) => place === text) ?? null;

function narrow(row: Prisma.PlotGetPayload<object>): Plot {
  const { createdAt: _createdAt, deletedAt: _deletedAt, polygonM, groundPlace, ...rest } = row;
  return { ...rest, polygonM: polygonM as PlanPoint[] | null, groundPlace: placeOf(groundPlace) };
}

const toRow = <Input extends NewPlot>({ polygonM, ...rest }: Input) => ({
  ...rest,
  polygonM: polygonM ?? Prisma.DbNull,
});

/** The plots of a lawn, the check first, then by name. */
export async function listPlots(lawnId: string): Promise<Plot[]> {
  const rows = await diary().plot.findMany({
    where: { lawnId, deletedAt: null },
    orderBy: [{ isCheck: 'desc' }, { name: 'asc' }],
  });
  return rows.map(narrow);
}

/** Where all plots of a lawn lie, those in the bin too: what was sprayed on them lies on the ground still. */
export async function listPlotGrounds(lawnId: string): Promise<PlotGround[]> {
  const rows = await diary().plot.findMany({
    where: { lawnId },
    select: {
      id: true,
      areaM2: true,
      polygonM: true,
      groundPlace: true,
      insidePlotId: true,
      trialPlots: { take: 1, orderBy: { trial: { createdAt: 'asc' } }, select: { trialId: true } },
    },
  });
  return rows.map(({ trialPlots, groundPlace, polygonM, ...row }) => {
    const polygon = polygonM as PlanPoint[] | null;
    const trialId = trialPlots[0]?.trialId ?? null;
    // A distance from the left stake that was typed before the form asked for the place says as much as the answer
    // would.
    const typedOffset = trialId === null && polygon !== null && Math.min(...polygon.map(([x]) => x)) > 0;
    return { ...row, polygonM: polygon, trialId, groundPlace: placeOf(groundPlace) ?? (typedOffset ? 'plan' : null) };
  });
}

export async function findPlot(id: string): Promise<Plot | null> {
  const row = await diary().plot.findFirst({ where: { id, deletedAt: null } });
  return row ? narrow(row) : null;
}

export async function createPlot(lawnId: string, input: NewPlot): Promise<Plot> {
  return narrow(await diary().plot.create({ data: { lawnId, ...toRow(input) } }));
}

export async function updatePlot(id: string, input: PlotInput): Promise<Plot> {
  return narrow(await diary().plot.update({ where: { id }, data: toRow(input) }));
}

/** Is a plot of this name already on the lawn (another than `exceptId`)? */
export async function plotNameTaken(lawnId: string, name: string, exceptId?: string): Promise<boolean> {
  const found = await diary().plot.findFirst({
    where: { lawnId, name, ...(exceptId ? { id: { not: exceptId } } : {}) },
    select: { id: true },
  });
  return found !== null;
}
