import 'server-only';
import { Prisma } from '@prisma/client';
import { diary } from './client';

/** So many rows that plots are linked to are asked for by their names: fewer of all a lawn's rows are looked at then. */
const FEW = 200;

/** Where it stands which plots a spray covered and a photo shows. */
const LINKS = {
  sprays: { table: Prisma.raw('"SprayPlot"'), column: Prisma.raw('"sprayId"') },
  photos: { table: Prisma.raw('"Outline"'), column: Prisma.raw('"photoId"') },
} as const;

/** The names of the sprays or photos of some plots where they are few, each once; null where there are many. */
export async function fewOfPlots(what: keyof typeof LINKS, plotIds: readonly string[]): Promise<string[] | null> {
  if (plotIds.length === 0) return [];
  const { table, column } = LINKS[what];
  // By SQL of our own: in no order at all, so that counting stops after a few rows.
  const few = await diary().$queryRaw<
    { id: string }[]
  >`SELECT ${column} AS "id" FROM ${table} WHERE "plotId" IN (${Prisma.join([...plotIds])}) LIMIT ${FEW + 1}`;
  return few.length <= FEW ? [...new Set(few.map((row) => row.id))] : null;
}
