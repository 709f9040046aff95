/**
 * The part that opens a diary's database with sqlite3, always in a process of its own: two SQLite builds must not open one
 * file in one process (closing it in one would drop the other's locks).
 *   node database-process.mjs backup FROM TO    online backup: a whole, consistent copy while others read and write, without anybody's session
 *   node database-process.mjs inspect FILE      integrity, foreign keys, migrations, photos; one JSON object on stdout
 * Ends with 0, or with 1 and the trouble on stderr.
 */
import sqlite3 from 'sqlite3';

const [verb, ...files] = process.argv.slice(2);

const open = (file, mode) =>
  new Promise((resolve, reject) => {
    const database = new sqlite3.Database(file, mode, (error) => (error ? reject(error) : resolve(database)));
  });
const all = (database, sql) => new Promise((resolve, reject) => database.all(sql, (error, rows) => (error ? reject(error) : resolve(rows))));
const close = (database) => new Promise((resolve, reject) => database.close((error) => (error ? reject(error) : resolve())));

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
  if ((await all(copy, "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'DoorSession'")).length > 0) await all(copy, 'DELETE FROM "DoorSession"');
  await close(copy);
}

async function inspect(file) {
  const database = await open(file, sqlite3.OPEN_READONLY);
  await all(database, 'PRAGMA busy_timeout = 10000');
  await all(database, 'PRAGMA trusted_schema = OFF');
  const integrity = (await all(database, 'PRAGMA integrity_check(20)')).map((row) => row.integrity_check).filter((line) => line !== 'ok');
  const foreignKeys = (await all(database, 'PRAGMA foreign_key_check')).length;
  const tables = (await all(database, "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")).map((row) => row.name);
  const migrations = tables.includes('_prisma_migrations')
    ? (await all(database, 'SELECT migration_name AS name FROM _prisma_migrations WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL ORDER BY migration_name')).map((row) => row.name)
    : [];
  const photos = tables.includes('Photo') ? await all(database, 'SELECT sha256, kind, measureState AS state, deletedAt IS NOT NULL AS binned FROM "Photo" ORDER BY sha256') : [];
  await close(database);
  return { integrity, foreignKeys, tables, migrations, photos, sqlite: sqlite3.VERSION };
}

try {
  if (verb === 'backup') await backup(...files);
  else if (verb === 'inspect') process.stdout.write(JSON.stringify(await inspect(...files)));
  else throw new Error(`expected 'backup' or 'inspect', got '${verb}'`);
} catch (error) {
  process.stderr.write(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
}
