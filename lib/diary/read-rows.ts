import 'server-only';
import type { Prisma } from '@prisma/client';
import { diary } from './client';
import { jsonOfRows } from './sql';

/**
 * Columns (quoted names) of many rows, each row a list in their order, read as one JSON text: instants are texts, truth
 * is 1 or true.
 * @param source what stands after FROM
 */
export async function readRows<Cells>(columns: readonly string[], source: Prisma.Sql): Promise<Cells[]> {
  const [found] = await diary().$queryRaw<{ rows: string }[]>`SELECT ${jsonOfRows(columns)} AS "rows" FROM ${source}`;
  return JSON.parse(found?.rows ?? '[]') as Cells[];
}
