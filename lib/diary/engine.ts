import 'server-only';
import path from 'node:path';

/**
 * Which database keeps the diary: the file `diary.db` in the data folder, or, where SWATHBOOK_DATABASE names one,
 * PostgreSQL. Only this ring knows the difference. The settings themselves are checked at the door
 * (`lib/forms/environment.ts`).
 */
export function postgresqlUrl(): string | undefined {
  const url = process.env['SWATHBOOK_DATABASE'];
  return url === undefined || url === '' ? undefined : url;
}

export const onPostgresql = (): boolean => postgresqlUrl() !== undefined;

/** The SQLite file of the data folder. */
export function databaseFile(): string {
  return path.join(/* turbopackIgnore: true */ path.resolve(process.env['SWATHBOOK_DATA'] ?? 'data'), 'diary.db');
}

/**
 * A condition for text that holds other text, capitals or not: what SQLite's LIKE does by itself, PostgreSQL's has to
 * be told.
 */
export function holdsText(text: string): { contains: string } {
  return onPostgresql() ? ({ contains: text, mode: 'insensitive' } as { contains: string }) : { contains: text };
}
