import 'server-only';
import { CHART_EDITIONS, USUAL_EDITION, type ChartEdition } from '@/lib/colour/chart-24';
import type { Prisma } from '@prisma/client';
import type { UnitSystem } from '@/lib/units/display';
import { diary } from './client';
import type { KnownOf } from './left-out';

export interface Lawn {
  id: string;
  name: string;
  place: string;
  latitudeDeg: number | null;
  longitudeDeg: number | null;
  elevationM: number | null;
  timeZone: string;
  unitSystem: UnitSystem;
  grass: string;
  mowingHeightMm: number | null;
  mowingHeightEnteredValue: number | null;
  mowingHeightEnteredUnit: string | null;
  waterPh: number | null;
  waterAlkalinityMgPerLCaCO3: number | null;
  waterHardnessMgPerLCaCO3: number | null;
  waterChlorinated: boolean;
  /** Which published values the 24-patch chart follows: before or from November 2014. */
  chartEdition: ChartEdition;
  note: string;
}

export type LawnInput = Omit<Lawn, 'id' | 'chartEdition'> & Partial<Pick<Lawn, 'chartEdition'>>;

function narrow(row: Prisma.LawnGetPayload<object>): Lawn {
  const { createdAt: _createdAt, deletedAt: _deletedAt, unitSystem, chartEdition, ...rest } = row;
  return {
    ...rest,
    chartEdition: CHART_EDITIONS.find((one) => one === chartEdition) ?? USUAL_EDITION,
    unitSystem: unitSystem === 'metric' ? 'metric' : 'us-customary',
  };
}

/** All lawns, oldest first. */
export async function listLawns(): Promise<Lawn[]> {
  return (await diary().lawn.findMany({ where: { deletedAt: null }, orderBy: { createdAt: 'asc' } })).map(narrow);
}

export async function findLawn(id: string): Promise<Lawn | null> {
  const row = await diary().lawn.findFirst({ where: { id, deletedAt: null } });
  return row ? narrow(row) : null;
}

export async function createLawn(input: KnownOf<LawnInput>): Promise<Lawn> {
  return narrow(await diary().lawn.create({ data: input }));
}

export async function updateLawn(id: string, input: LawnInput): Promise<Lawn> {
  return narrow(await diary().lawn.update({ where: { id }, data: input }));
}
