import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { Prisma, PrismaClient } from '@prisma/client';
import { openServer } from './client';
import { diaryTables, type Table } from './tables';

/** Rows read and written at a time. */
const CHUNK = 500;

/** Longest time a copy may take, ms: the server keeps one picture of the diary that long. */
const PATIENCE_MS = 6 * HOUR_MS;

/** Never copied: a way in is no part of the diary. */
const LEFT_OUT: readonly string[] = ['DoorSession', 'PersonPassphrase', 'DoorTry', 'ServerFact'];

type Row = Record<string, unknown>;
interface Rows {
  findMany(request: object): Promise<Row[]>;
  createMany(request: { data: Row[] }): Promise<unknown>;
  deleteMany(): Promise<unknown>;
}

const rowsOf = (client: unknown, { name }: Table): Rows =>
  (client as Record<string, Rows>)[name[0]!.toLowerCase() + name.slice(1)]!;

/** Where a row stands, as Prisma's cursor wants it. */
const cursorOf = ({ key }: Table, row: Row): object => {
  const own = Object.fromEntries(key.map((column) => [column, row[column]]));
  return key.length === 1 ? own : { [key.join('_')]: own };
};

async function copyTable(from: unknown, to: unknown, table: Table): Promise<number> {
  const [source, target] = [rowsOf(from, table), rowsOf(to, table)];
  const orderBy = table.key.map((column) => ({ [column]: 'asc' }));
  let copied = 0;
  for (let last: Row | undefined; ;) {
    const rows = await source.findMany({
      orderBy,
      take: CHUNK,
      ...(last === undefined ? {} : { cursor: cursorOf(table, last), skip: 1 }),
    });
    if (rows.length === 0) return copied;
    last = rows.at(-1);
    await target.createMany({
      data: rows.map((row) => ({
        ...row,
        ...Object.fromEntries(
          table.json.filter((column) => row[column] === null).map((column) => [column, Prisma.DbNull]),
        ),
      })),
    });
    copied += rows.length;
    if (rows.length < CHUNK) return copied;
  }
}

const openFile = (file: string): PrismaClient =>
  new PrismaClient({ adapter: new PrismaBetterSqlite3({ url: `file:${file}` }) });

/**
 * Copies a diary on PostgreSQL, as it is at one moment, into an empty SQLite file that is through all migrations.
 * @returns rows copied
 */
export async function copyServerToFile(url: string, file: string): Promise<number> {
  const [server, target] = [openServer(url), openFile(file)];
  try {
    return await server.$transaction(
      async (tx) => {
        let copied = 0;
        for (const table of diaryTables())
          if (!LEFT_OUT.includes(table.name)) copied += await copyTable(tx, target, table);
        return copied;
      },
      { isolationLevel: 'RepeatableRead', timeout: PATIENCE_MS, maxWait: 10_000 } as object,
    );
  } finally {
    await Promise.all([server.$disconnect(), target.$disconnect()]);
  }
}

/**
 * Puts the rows of a SQLite file in the place of everything on the server: all of them or, when anything fails, none.
 * @returns rows copied
 */
export async function copyFileToServer(file: string, url: string): Promise<number> {
  const [source, server] = [openFile(file), openServer(url)];
  try {
    return await server.$transaction(
      async (tx) => {
        const tables = diaryTables();
        for (const table of tables.toReversed()) await rowsOf(tx, table).deleteMany();
        let copied = 0;
        for (const table of tables) if (!LEFT_OUT.includes(table.name)) copied += await copyTable(source, tx, table);
        return copied;
      },
      { timeout: PATIENCE_MS, maxWait: 10_000 },
    );
  } finally {
    await Promise.all([source.$disconnect(), server.$disconnect()]);
  }
}
