import 'server-only';
import { mkdtemp, rm } from 'node:fs/promises';
import path from 'node:path';
import { columnValues, inspectDatabase, readSchema, type DatabaseFacts } from '@/lib/archive/database';
import { ArchiveRefused } from '@/lib/archive/refused';
import { applyMigrations, knownMigrations } from '@/lib/diary/migrate';
import { DIARY_SHAPES, DIARY_WORDS } from '@/lib/forms/diary-columns';

/**
 * Looks over a database that comes from elsewhere before anything runs in it: sound, of this diary, no newer than this
 * version, and nothing in it that acts by itself or stands for a table.
 * @throws ArchiveRefused with the reason
 */
export async function proveForeign(database: string): Promise<DatabaseFacts> {
  const facts = await inspectDatabase(database);
  const odd = facts.schema.find(
    (entry) => entry.type === 'trigger' || entry.type === 'view' || /^\s*CREATE\s+VIRTUAL/i.test(entry.sql),
  );
  if (odd !== undefined)
    throw new ArchiveRefused(
      `Expected a database of plain tables, got one with the ${odd.type === 'table' ? 'virtual table' : odd.type} '${odd.name.slice(0, 60)}'.`,
    );
  if (facts.integrity.length > 0)
    throw new ArchiveRefused(`Expected a sound database in the archive, got trouble: ${facts.integrity[0]}.`);
  if (facts.foreignKeys > 0)
    throw new ArchiveRefused(
      `Expected a database whose rows all belong together, got ${facts.foreignKeys} that point at nothing.`,
    );
  if (facts.migrations.length === 0)
    throw new ArchiveRefused('Expected a database of this diary in the archive, got another one.');
  const known = knownMigrations();
  const unknown = facts.migrations.find((name) => !known.includes(name));
  if (unknown !== undefined)
    throw new ArchiveRefused(
      `Expected an archive of this version or an older one, got one made by a newer version (it has been through ${unknown}): update first.`,
    );
  const gap = facts.migrations.find((name, place) => known[place] !== name);
  if (gap !== undefined)
    throw new ArchiveRefused(
      `Expected a database that went through this diary's migrations in their order, got one that went through ${gap} without those before it.`,
    );
  return facts;
}

/**
 * After its migrations a database must be, table by table, what the migrations make, and every row what the pages take
 * for granted: numbers that are numbers, dates that are dates, JSON of its shape, words of their sets.
 * @param scratch a folder in which a fresh database is made to compare with
 * @throws ArchiveRefused with the reason
 */
export async function proveOurs(database: string, scratch: string): Promise<void> {
  const fresh = await mkdtemp(path.join(scratch, 'fresh-'));
  try {
    await applyMigrations(path.join(fresh, 'diary.db'));
    const [ours, theirs] = [await readSchema(path.join(fresh, 'diary.db')), await readSchema(database)];
    for (const [name, sql] of ours)
      if (theirs.get(name) !== sql)
        throw new ArchiveRefused(
          `Expected a database as this version's migrations make it, got one whose ${name} is ${theirs.has(name) ? 'another' : 'missing'}.`,
        );
    for (const name of theirs.keys())
      if (!ours.has(name))
        throw new ArchiveRefused(
          `Expected a database as this version's migrations make it, got one with ${name} as well.`,
        );
  } finally {
    await rm(fresh, { recursive: true, force: true });
  }
  const facts = await inspectDatabase(database, { rows: true });
  if (facts.integrity.length > 0)
    throw new ArchiveRefused(`Expected a sound database after its migrations, got trouble: ${facts.integrity[0]}.`);
  const [wrong] = facts.wrongValues;
  if (wrong !== undefined) throw new ArchiveRefused(`Expected ${wrong.expected} in ${wrong.column}, got ${wrong.got}.`);
  const shapes = { ...DIARY_WORDS, ...DIARY_SHAPES };
  const columns = Object.keys(shapes).map((name) => ({ name, distinct: Object.hasOwn(DIARY_WORDS, name) }));
  for await (const { column, value, isJson } of columnValues(database, columns)) {
    if (shapes[column]?.safeParse(isJson ? JSON.parse(value) : value).success !== true)
      throw new ArchiveRefused(`Expected in ${column} only what this diary writes there, got '${value.slice(0, 60)}'.`);
  }
}
