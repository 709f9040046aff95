import 'server-only';
import { Prisma } from '@prisma/client';
import { onPostgresql } from './engine';

/** The few words in which the two databases' SQL differs. Everything else is written so that both take it. */

/** An instant as SQLite keeps it. */
export const storedInstant = (at: Date | string | number): string => new Date(at).toISOString().replace('Z', '+00:00');

/** An instant to compare a column with. */
export function instant(at: Date): Prisma.Sql {
  return onPostgresql() ? Prisma.sql`${storedInstant(at)}::timestamptz` : Prisma.sql`${storedInstant(at)}`;
}

/** A whole number where a column of them is written: PostgreSQL wants to know. */
export function wholeNumber(value: number): Prisma.Sql {
  return onPostgresql() ? Prisma.sql`${value}::integer` : Prisma.sql`${value}`;
}

/** Milliseconds since 1970 of a column of instants (a quoted name). */
export function epochMs(column: string): Prisma.Sql {
  return Prisma.raw(onPostgresql() ? `(extract(epoch from ${column}) * 1000)::double precision` : `CAST(strftime('%s', ${column}) AS REAL) * 1000`);
}

const CASTS = { text: 'text', instant: 'timestamptz', number: 'double precision' } as const;

/** Rows handed over as one JSON text, a list of lists: what to select from, and how a row's cell is read. */
export function rowsOfJson(json: string): { rows: Prisma.Sql; cell: (index: number, type: keyof typeof CASTS) => Prisma.Sql } {
  if (!onPostgresql()) return { rows: Prisma.sql`json_each(${json})`, cell: (index) => Prisma.raw(`json_extract(value, '$[${index}]')`) };
  return { rows: Prisma.sql`json_array_elements(${json}::json) AS t(value)`, cell: (index, type) => Prisma.raw(`(value->>${index})::${CASTS[type]}`) };
}
