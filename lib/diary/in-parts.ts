import 'server-only';

/**
 * SQLite takes 999 values in a query here, and what a query includes is asked for by the rows' ids: so long lists are
 * read in parts of this size.
 */
export const PART = 500;

/** Reads rows for many ids, a part at a time. @returns all rows, in the order of the ids' parts */
export async function inParts<T>(ids: readonly string[], read: (part: string[]) => Promise<T[]>): Promise<T[]> {
  const rows: T[] = [];
  for (let at = 0; at < ids.length; at += PART) rows.push(...(await read(ids.slice(at, at + PART))));
  return rows;
}
