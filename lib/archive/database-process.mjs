/**
 * The part that opens a diary's database with sqlite3, always in a process of its own: two SQLite builds must not open
 * one file in one process (closing it in one would drop the other's locks).
 *   node database-process.mjs backup FROM TO    online backup: a whole, consistent copy while others read and write, without anybody's session
 *   node database-process.mjs inspect FILE [rows]   schema, integrity, foreign keys, migrations, photos; with `rows` also values that are not what
 *                                               their columns are declared as; one JSON object on stdout
 *   node database-process.mjs alter FILE SQL    runs statements, for tests of what an altered database does
 *   node database-process.mjs columns FILE TABLE.COLUMN:all|distinct …   the values of columns that are not null, one JSON array [column, value, declared type] a line
 * Ends with 0, or with 1 and the trouble on stderr.
 */
import sqlite3 from 'sqlite3';

const [verb, ...files] = process.argv.slice(2);

const open = (file, mode) =>
  new Promise((resolve, reject) => {
    const database = new sqlite3.Database(file, mode, (error) => (error ? reject(error) : resolve(database)));
  });
const all = (database, sql) =>
  new Promise((resolve, reject) => database.all(sql, (error, rows) => (error ? reject(error) : resolve(rows))));
const close = (database) =>
  new Promise((resolve, reject) => database.close((error) => (error ? reject(error) : resolve())));

async function backup(from, to) {
  const source = await open(from, sqlite3.OPEN_READONLY);
  await all(source, 'PRAGMA busy_timeout = 10000');
  await new Promise((resolve, reject) => {
    const copying = source.backup(to, (opened) => {
      if (opened) return reject(opened);
      copying.retryErrors = [sqlite3.BUSY, sqlite3.LOCKED];
      // All pages in one step: in WAL mode nobody has to wait for it, and no later write can make it start again.
      copying.step(-1, (failed) => {
        if (failed) return reject(failed);
        copying.finish((error) => (error ? reject(error) : resolve()));
      });
    });
  });
  await close(source);
  // One file without a log beside it is what travels.
  const copy = await open(to, sqlite3.OPEN_READWRITE);
  await all(copy, 'PRAGMA journal_mode = DELETE');
  // No copy carries a way in: not in an archive, not out of one.
  await all(copy, 'PRAGMA secure_delete = ON');
  for (const { name } of await all(
    copy,
    "SELECT name FROM sqlite_master WHERE type = 'table' AND name IN ('DoorSession', 'PersonPassphrase', 'DoorTry', 'ServerFact')",
  ))
    await all(copy, `DELETE FROM "${name}"`);
  await close(copy);
}

/** What a declared type lets in, as SQL on a quoted column; null lets all in. */
function conditionFor(type, column) {
  if (/INT/i.test(type)) return `typeof(${column}) = 'integer'`;
  if (/REAL|DOUB|FLOA/i.test(type)) return `typeof(${column}) IN ('real', 'integer') AND abs(${column}) < 1e300`;
  if (/BOOL/i.test(type)) return `${column} IN (0, 1)`;
  if (/DATE/i.test(type))
    return `(typeof(${column}) = 'integer' AND abs(${column}) <= 8640000000000000) OR (typeof(${column}) = 'text' AND length(${column}) < 40 AND julianday(${column}) IS NOT NULL)`;
  if (/JSON/i.test(type)) return `json_valid(${column})`;
  return /TEXT|CHAR/i.test(type) ? `typeof(${column}) = 'text'` : null;
}

const inWords = (type) =>
  /INT/i.test(type)
    ? 'whole numbers'
    : /REAL|DOUB|FLOA/i.test(type)
      ? 'numbers'
      : /BOOL/i.test(type)
        ? 'yes or no'
        : /DATE/i.test(type)
          ? 'dates'
          : /JSON/i.test(type)
            ? 'JSON'
            : 'text';
const quoted = (name) => `"${name.replaceAll('"', '""')}"`;

/** The first value of each column that its type doesn't let in, at most 20. */
async function wrongValues(database, tables) {
  const wrong = [];
  for (const table of tables.filter((name) => name !== '_prisma_migrations' && !name.startsWith('sqlite_'))) {
    for (const { name, type } of await all(database, `PRAGMA table_info(${quoted(table)})`)) {
      // A patch of ground keeps the name it got when it was first seen: its photo's, and which mark of it.
      const isPatch = (table === 'Patch' && name === 'id') || name === 'patchId' || /threadId$/i.test(name);
      const isId = (name === 'id' || name.endsWith('Id')) && /TEXT/i.test(type);
      const column = quoted(name);
      const condition = isId
        ? `typeof(${column}) = 'text' AND length(${column}) BETWEEN 8 AND ${isPatch ? 60 : 40} AND ${column} NOT GLOB '*[^a-z0-9${isPatch ? '-' : ''}]*'`
        : conditionFor(type, column);
      if (condition === null) continue;
      const [found] = await all(
        database,
        `SELECT substr(quote(${column}), 1, 80) AS got FROM ${quoted(table)} WHERE ${column} IS NOT NULL AND NOT coalesce((${condition}), 0) LIMIT 1`,
      );
      if (found !== undefined)
        wrong.push({
          column: `${table}.${name}`,
          expected: isId ? 'identifiers of this diary' : inWords(type),
          got: found.got,
        });
      if (wrong.length >= 20) return wrong;
    }
  }
  return wrong;
}

async function alter(file, sql) {
  const database = await open(file, sqlite3.OPEN_READWRITE);
  await new Promise((resolve, reject) => database.exec(sql, (error) => (error ? reject(error) : resolve())));
  await close(database);
}

/** Writes the values of columns, waiting for whoever reads them. */
async function columns(file, ...wanted) {
  const database = await open(file, sqlite3.OPEN_READONLY);
  await all(database, 'PRAGMA trusted_schema = OFF');
  for (const [whole, which] of wanted.map((one) => one.split(':'))) {
    const [table, name] = whole.split('.');
    const type = (await all(database, `PRAGMA table_info(${quoted(table)})`)).find((one) => one.name === name)?.type;
    if (type === undefined) throw new Error(`expected a column ${whole}, got none`);
    for (let after = 0; ;) {
      const rows =
        which === 'distinct'
          ? await all(
              database,
              `SELECT DISTINCT ${quoted(name)} AS value FROM ${quoted(table)} WHERE value IS NOT NULL`,
            )
          : await all(
              database,
              `SELECT rowid AS at, ${quoted(name)} AS value FROM ${quoted(table)} WHERE rowid > ${after} AND value IS NOT NULL ORDER BY rowid LIMIT 500`,
            );
      for (const { value } of rows)
        if (!process.stdout.write(`${JSON.stringify([whole, String(value), type])}\n`))
          await new Promise((resolve) => process.stdout.once('drain', resolve));
      if (which === 'distinct' || rows.length === 0) break;
      after = rows.at(-1).at;
    }
  }
  await close(database);
}

async function inspect(file, which) {
  const database = await open(file, sqlite3.OPEN_READONLY);
  await all(database, 'PRAGMA busy_timeout = 10000');
  await all(database, 'PRAGMA trusted_schema = OFF');
  const schema = await all(
    database,
    "SELECT type, name, coalesce(sql, '') AS sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' ORDER BY name",
  );
  // What would act or stand for a table is told, and nothing is asked of a database that holds it.
  if (schema.some((entry) => entry.type === 'view' || entry.type === 'trigger'))
    return {
      integrity: [],
      foreignKeys: 0,
      tables: [],
      schema,
      migrations: [],
      photos: [],
      wrongValues: [],
      sqlite: sqlite3.VERSION,
    };
  const integrity = (await all(database, 'PRAGMA integrity_check(20)'))
    .map((row) => row.integrity_check)
    .filter((line) => line !== 'ok');
  const foreignKeys = (await all(database, 'PRAGMA foreign_key_check')).length;
  const tables = (await all(database, "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")).map(
    (row) => row.name,
  );
  const migrations = tables.includes('_prisma_migrations')
    ? (
        await all(
          database,
          'SELECT migration_name AS name FROM _prisma_migrations WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL ORDER BY migration_name',
        )
      ).map((row) => row.name)
    : [];
  const photos = tables.includes('Photo')
    ? await all(
        database,
        'SELECT sha256, kind, measureState AS state, deletedAt IS NOT NULL AS binned FROM "Photo" ORDER BY sha256',
      )
    : [];
  const wrong = which === 'rows' ? await wrongValues(database, tables) : [];
  await close(database);
  return { integrity, foreignKeys, tables, schema, migrations, photos, wrongValues: wrong, sqlite: sqlite3.VERSION };
}

try {
  if (verb === 'backup') await backup(...files);
  else if (verb === 'inspect') process.stdout.write(JSON.stringify(await inspect(...files)));
  else if (verb === 'columns') await columns(...files);
  else if (verb === 'alter') await alter(...files);
  else throw new Error(`expected 'backup', 'inspect' or 'columns', got '${verb}'`);
} catch (error) {
  process.stderr.write(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
}
