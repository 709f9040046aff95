import 'server-only';
import type { Prisma } from '@prisma/client';
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
  note: string;
}

export type PlotInput = Omit<Plot, 'id' | 'lawnId'>;

function narrow(row: Prisma.PlotGetPayload<object>): Plot {
  const { createdAt: _createdAt, deletedAt: _deletedAt, polygonM, ...rest } = row;
  return { ...rest, polygonM: polygonM as PlanPoint[] | null };
}

const toRow = ({ polygonM, ...rest }: PlotInput) => ({ ...rest, ...(polygonM ? { polygonM } : {}) });

/** The plots of a lawn, the check first, then by name. */
export async function listPlots(lawnId: string): Promise<Plot[]> {
  const rows = await diary().plot.findMany({ where: { lawnId, deletedAt: null }, orderBy: [{ isCheck: 'desc' }, { name: 'asc' }] });
  return rows.map(narrow);
}

export async function findPlot(id: string): Promise<Plot | null> {
  const row = await diary().plot.findFirst({ where: { id, deletedAt: null } });
  return row ? narrow(row) : null;
}

export async function createPlot(lawnId: string, input: PlotInput): Promise<Plot> {
  return narrow(await diary().plot.create({ data: { lawnId, ...toRow(input) } }));
}

export async function updatePlot(id: string, input: PlotInput): Promise<Plot> {
  return narrow(await diary().plot.update({ where: { id }, data: toRow(input) }));
}

/** Is a plot of this name already on the lawn (another than `exceptId`)? */
export async function plotNameTaken(lawnId: string, name: string, exceptId?: string): Promise<boolean> {
  const found = await diary().plot.findFirst({ where: { lawnId, name, ...(exceptId ? { id: { not: exceptId } } : {}) }, select: { id: true } });
  return found !== null;
}
