import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { createHash } from 'node:crypto';
import { createReadStream, existsSync } from 'node:fs';
import { readdir, rm, stat, statfs } from 'node:fs/promises';
import path from 'node:path';
import { inspectDatabase, type DatabaseFacts } from '@/lib/archive/database';
import { clearLeftBehind, leftBehind } from '@/lib/archive/left-overs';
import { finishSwap, movedAside } from '@/lib/archive/swap';
import { hasBucket, onShelf } from '@/lib/darkroom/bucket';
import { hashInKey, keepOriginal } from '@/lib/darkroom/originals';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { STORE_FOLDERS } from '@/lib/darkroom/store-files';
import { clearOrphans, foreignIn, isWritable, orphansIn, STRAYS } from '@/lib/darkroom/shelf';
import { serverTrouble } from '@/lib/diary/database-server';
import { postgresqlUrl } from '@/lib/diary/engine';
import { applyMigrations, knownMigrations } from '@/lib/diary/migrate';
import { serverFacts } from '@/lib/diary/server-facts';
import { holderOf } from '@/lib/door/folder-lock';
import { isRunning } from '@/lib/door/process-life';
import { listArchives, photoEntryName, programVersion } from './keep-archive';
import { resumeMeasuring } from '../photos/resume-measuring';

export interface Finding {
  readonly level: 'good' | 'note' | 'bad';
  readonly sentence: string;
  /**
   * What would put it right, and does. Not offered while a server uses the folder, nor where only a person can tell.
   */
  readonly fix?: { readonly offer: string; readonly apply: () => Promise<string> };
}

const LOW_DISK_BYTES = 1_000_000_000;
const OLD_ARCHIVE_DAYS = 30;

/**
 * Looks a data folder over: versions, room, the database's integrity, photos against rows both ways, what stops and
 * restores left behind. Changes nothing; each finding may carry its fix. With `deep`, every photo is hashed again.
 */
export async function examine(folder: string, now: Date, deep: boolean): Promise<Finding[]> {
  const findings: Finding[] = [];
  const good = (sentence: string) => findings.push({ level: 'good', sentence });
  const note = (sentence: string, fix?: Finding['fix']) =>
    findings.push({ level: 'note', sentence, ...(fix ? { fix } : {}) });
  const bad = (sentence: string, fix?: Finding['fix']) =>
    findings.push({ level: 'bad', sentence, ...(fix ? { fix } : {}) });

  const holder = holderOf(folder);
  const quiet = holder === null;
  const whenQuiet = (fix: NonNullable<Finding['fix']>) => (quiet ? fix : undefined);
  good(`Swathbook ${programVersion()}, Node ${process.versions.node}, ${process.platform} ${process.arch}.`);
  if (!quiet)
    note(
      `Process ${holder.pid} uses this folder now${holder.address === '' ? '' : ` (${holder.address})`}: fixes are offered once it has ended.`,
    );
  if (!existsSync(folder)) {
    bad(`Expected a data folder at ${folder}, found none: 'npm start' makes it.`);
    return findings;
  }
  if (!(await isWritable(folder)))
    bad(`The data folder ${folder} can't be written to: give this user the right to write there.`);
  const { bavail, bsize } = await statfs(folder);
  const free = `${(Math.round((bavail * bsize) / 1e8) / 10).toFixed(1)} GB free on its disk.`;
  if (bavail * bsize < LOW_DISK_BYTES) bad(`Only ${free} Uploads will be refused when it is full.`);
  else good(free);

  if (existsSync(path.join(folder, 'restoring.json'))) {
    bad(
      'A restore was cut short between its last steps.',
      whenQuiet({
        offer: 'finish it',
        apply: async () => ((await finishSwap(folder)) ? 'Finished.' : 'It was finished already.'),
      }),
    );
    return findings; // the rest would look at two diaries at once
  }
  const left = quiet ? await leftBehind(folder, isRunning) : [];
  if (left.length > 0) {
    note(
      `A stop left unfinished things behind: ${left.slice(0, 5).join(', ')}${left.length > 5 ? ` and ${left.length - 5} more` : ''}.`,
      {
        offer: 'remove them',
        apply: async () => {
          const { count, bytes } = await clearLeftBehind(folder, isRunning);
          return `Removed ${count} (${(bytes / 1e6).toFixed(1)} MB).`;
        },
      },
    );
  }
  const aside = await movedAside(folder);
  if (aside.length > 0)
    note(`Earlier data that restores moved aside: ${aside.join(', ')}. Remove it once you no longer want it.`);

  const facts = await examineDatabase(folder, { good, bad }, whenQuiet);
  if (facts !== null) await examinePhotos(folder, facts, { good, note, bad }, whenQuiet, now, deep);

  const [newest] = await listArchives();
  if (newest === undefined) note("No archive yet: 'npm run archive' makes one.");
  else if (now.getTime() - newest.madeAt.getTime() > OLD_ARCHIVE_DAYS * DAY_MS)
    note(`The newest archive here is of ${newest.madeAt.toISOString().slice(0, 10)}: 'npm run archive' makes another.`);
  else good(`The newest archive here is ${newest.name}.`);
  return findings;
}

type Say = (sentence: string, fix?: Finding['fix']) => void;
type WhenQuiet = (fix: NonNullable<Finding['fix']>) => Finding['fix'];

type PhotosOfDatabase = Pick<DatabaseFacts, 'photos'>;

/** Migrations a database has been through against those this version knows. */
function tellMigrations(
  done: readonly string[],
  known: readonly string[],
  run: () => Promise<string[]>,
  { good, bad }: { good: Say; bad: Say },
  whenQuiet: WhenQuiet,
): void {
  const waiting = known.filter((name) => !done.includes(name));
  const unknown = done.filter((name) => !known.includes(name));
  if (unknown.length > 0) bad(`The database was used by a newer version (${unknown.join(', ')}): update this one.`);
  else if (waiting.length > 0)
    bad(
      `The database waits for ${waiting.length} migration(s).`,
      whenQuiet({ offer: 'run them', apply: async () => `Ran ${(await run()).join(', ')}.` }),
    );
  else good(`All ${known.length} migration(s) have run.`);
}

async function examineServer(
  { good, bad }: { good: Say; bad: Say },
  whenQuiet: WhenQuiet,
  server: string,
): Promise<PhotosOfDatabase | null> {
  let facts;
  try {
    facts = await serverFacts();
  } catch (error) {
    bad(`The database: ${serverTrouble(error) ?? (error as Error).message}`);
    return null;
  }
  good(`The database server answers (PostgreSQL ${facts.version}).`);
  const { applyPostgresqlMigrations, knownPostgresqlMigrations } = await import('@/lib/diary/migrate-postgresql');
  tellMigrations(
    facts.migrations,
    knownPostgresqlMigrations(),
    () => applyPostgresqlMigrations(server),
    { good, bad },
    whenQuiet,
  );
  const skewS = Math.abs(facts.clockMs - Date.now()) / 1000;
  if (skewS > 60)
    bad(
      `The database server's clock is ${Math.round(skewS)} s off this machine's: sessions and dates will differ. Set both by a time server.`,
    );
  return facts;
}

async function examineDatabase(
  folder: string,
  { good, bad }: { good: Say; bad: Say },
  whenQuiet: WhenQuiet,
): Promise<PhotosOfDatabase | null> {
  const server = postgresqlUrl();
  if (server !== undefined) return examineServer({ good, bad }, whenQuiet, server);
  const database = path.join(folder, 'diary.db');
  if (!existsSync(database)) {
    const strays = (await readdir(path.join(folder, 'photos')).catch(() => [])).length;
    bad(
      `Expected a database at ${database}, found none${strays > 0 ? ': photos are there, so put an archive back or the lost file' : ": 'npm start' makes it"}.`,
    );
    return null;
  }
  let facts: DatabaseFacts;
  try {
    facts = await inspectDatabase(database);
  } catch (error) {
    bad(`${(error as Error).message} Put an archive back: npm run restore -- FILE.`);
    return null;
  }
  if (facts.integrity.length > 0)
    bad(
      `The database is damaged (${facts.integrity.slice(0, 3).join('; ')}). Put an archive back: npm run restore -- FILE.`,
    );
  else good(`The database is whole (checked by SQLite ${facts.sqlite}).`);
  if (facts.foreignKeys > 0) bad(`${facts.foreignKeys} row(s) in the database point at rows that are not there.`);
  tellMigrations(facts.migrations, knownMigrations(), () => applyMigrations(database), { good, bad }, whenQuiet);
  return facts;
}

async function examinePhotos(
  folder: string,
  facts: PhotosOfDatabase,
  { good, note, bad }: { good: Say; note: Say; bad: Say },
  whenQuiet: WhenQuiet,
  now: Date,
  deep: boolean,
): Promise<void> {
  const missing: string[] = [];
  const changed: string[] = [];
  for (const photo of facts.photos) {
    const name = photoEntryName(photo.sha256, photo.kind) ?? photo.sha256;
    const file = path.join(folder, ...name.split('/'));
    if (
      !(await stat(file).then(
        (info) => info.isFile(),
        () => false,
      ))
    ) {
      if (!hasBucket()) missing.push(name); // with a store, the folder only keeps copies at hand
    } else if (deep && (await hashOf(file)) !== photo.sha256) changed.push(name);
  }
  const first = (names: string[]) =>
    `${names.slice(0, 3).join(', ')}${names.length > 3 ? ` and ${names.length - 3} more` : ''}`;
  if (missing.length > 0)
    bad(
      `${missing.length} photo(s) of the diary have no file (${first(missing)}): they are in an archive, if one was made since. Upload them again to put them back.`,
    );
  else good(`All ${facts.photos.length} photos of the diary have their file.`);
  if (deep && changed.length > 0)
    bad(
      `${changed.length} photo file(s) no longer hold the bytes that were uploaded (${first(changed)}): the disk may be failing.`,
    );
  else if (deep) good('Every photo file holds the bytes that were uploaded.');

  const hashes = new Set(facts.photos.map((photo) => photo.sha256));
  const orphans = await orphansIn(folder, (sha256) => hashes.has(sha256));
  if (orphans.length > 0) {
    note(
      `${orphans.length} file(s) on the shelf belong to no photo of the diary.`,
      whenQuiet({
        offer: `remove half-written ones and set whole photos aside in ${STRAYS}`,
        apply: async () =>
          `Cleared ${(await clearOrphans(folder, (sha256) => hashes.has(sha256), new Date(now.getTime() + 60_000))).length}.`,
      }),
    );
  }
  const foreign = await foreignIn(folder);
  if (foreign.length > 0)
    note(
      `${foreign.length} file(s) under photos/ are none that this diary puts there (${first(foreign)}): no archive carries them. Move them elsewhere.`,
    );
  const strays = (await readdir(path.join(folder, STRAYS)).catch(() => [] as string[])).filter((name) =>
    /^[0-9a-f]{64}\./.test(name),
  );
  const twice = strays.filter((name) => hashes.has(name.slice(0, 64)));
  if (twice.length > 0) {
    note(`${twice.length} photo(s) in ${STRAYS} are in the diary as well.`, {
      offer: 'remove those copies',
      apply: async () => {
        for (const name of twice) await rm(path.join(folder, STRAYS, name), { force: true });
        return 'Removed.';
      },
    });
  }
  if (strays.length > twice.length)
    note(
      `${strays.length - twice.length} photo(s) lie in ${STRAYS}: uploads that a stop cut short. Upload them again, or remove them.`,
    );

  if (hasBucket()) await examineStore(folder, facts, { good, note, bad }, whenQuiet);

  const waiting = facts.photos.filter((photo) => photo.state === 'waiting' && photo.binned === 0).length;
  if (waiting > 0)
    note(
      `${waiting} photo(s) wait to be measured.`,
      whenQuiet({ offer: 'measure them', apply: async () => `Measured ${await resumeMeasuring()}.` }),
    );
}

/** Rows against the photo store, both ways. */
async function examineStore(
  folder: string,
  facts: PhotosOfDatabase,
  { good, note, bad }: { good: Say; note: Say; bad: Say },
  whenQuiet: WhenQuiet,
): Promise<void> {
  const there = new Set<string>();
  const strange: string[] = [];
  try {
    for await (const { key } of onShelf()) {
      const sha256 = hashInKey(key);
      if (sha256 !== null) there.add(sha256);
      else if (!Object.values(STORE_FOLDERS).some((own) => key.startsWith(own))) strange.push(key);
    }
  } catch (error) {
    bad((error as Error).message);
    return;
  }
  const rows = new Set(facts.photos.map((photo) => photo.sha256));
  const lacking = facts.photos.filter((photo) => !there.has(photo.sha256));
  if (lacking.length === 0) good(`All ${rows.size} photos of the diary are in the photo store.`);
  else {
    bad(
      `${lacking.length} photo(s) of the diary are not in the photo store.`,
      whenQuiet({
        offer: 'put there those that this folder has',
        apply: async () => {
          let put = 0;
          for (const { sha256, kind } of lacking)
            await keepOriginal(folder, { sha256, kind: kind as PhotoKind }).then(
              () => (put += 1),
              () => undefined,
            );
          return `Put ${put}.`;
        },
      }),
    );
  }
  const orphans = [...there].filter((sha256) => !rows.has(sha256));
  if (orphans.length > 0)
    note(
      `${orphans.length} object(s) in the photo store belong to no photo of the diary (${orphans[0]!.slice(0, 12)}…). They may be another diary's, or of uploads that a stop cut short; nothing is removed.`,
    );
  if (strange.length > 0)
    note(
      `${strange.length} object(s) in the photo store are none that this diary puts there (${strange[0]!.slice(0, 60)}).`,
    );
}

async function hashOf(file: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(file)) hash.update(chunk as Buffer);
  return hash.digest('hex');
}
