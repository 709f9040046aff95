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
  return Prisma.raw(
    onPostgresql()
      ? `(extract(epoch from ${column}) * 1000)::double precision`
      : `CAST(strftime('%s', ${column}) AS REAL) * 1000`,
  );
}

/** A column of instants (a quoted name) so many days later, written as columns are. */
export function daysLater(column: string, days: number): Prisma.Sql {
  const hours = Math.round(days * 24);
  return Prisma.raw(
    onPostgresql()
      ? `(${column} + interval '${hours} hours')`
      : `strftime('%Y-%m-%dT%H:%M:%f+00:00', ${column}, '+${hours} hours')`,
  );
}

const CASTS = { text: 'text', instant: 'timestamptz', number: 'double precision' } as const;

/** Rows handed over as one JSON text, a list of lists: what to select from, and how a row's cell is read. */
export function rowsOfJson(json: string): {
  rows: Prisma.Sql;
  cell: (index: number, type: keyof typeof CASTS) => Prisma.Sql;
} {
  if (!onPostgresql())
    return { rows: Prisma.sql`json_each(${json})`, cell: (index) => Prisma.raw(`json_extract(value, '$[${index}]')`) };
  return {
    rows: Prisma.sql`json_array_elements(${json}::json) AS t(value)`,
    cell: (index, type) => Prisma.raw(`(value->>${index})::${CASTS[type]}`),
  };
}

/**
 * Columns (quoted names) of many rows as one JSON text, a list of lists: a row costs far less than as a row of its own. Instants are
 * texts, truth is 1 or true.
 */
export function jsonOfRows(columns: readonly string[]): Prisma.Sql {
  const cells = Prisma.raw(columns.join(', '));
  return onPostgresql()
    ? Prisma.sql`COALESCE(json_agg(json_build_array(${cells})), '[]')::text`
    : Prisma.sql`json_group_array(json_array(${cells}))`;
}

/** A column (quoted) that holds a text, capitals or not: what `holdsText` asks, for SQL of our own. */
export function columnHolds(column: string, text: string): Prisma.Sql {
  return onPostgresql()
    ? Prisma.sql`${Prisma.raw(column)} ILIKE ('%' || ${text} || '%')`
    : Prisma.sql`${Prisma.raw(column)} LIKE ('%' || ${text} || '%')`;
}
