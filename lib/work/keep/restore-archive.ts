import 'server-only';
import { existsSync } from 'node:fs';
import { mkdir, readdir, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import { backUpDatabase } from '@/lib/archive/database';
import { databaseEntry } from '@/lib/archive/entries';
import { readArchive } from '@/lib/archive/read';
import { ArchiveRefused } from '@/lib/archive/refused';
import { finishSwap, swapIn } from '@/lib/archive/swap';
import { sentenceFor, flushToDisk, settleFolder } from '@/lib/archive/write';
import { keepOriginal, originalAt } from '@/lib/darkroom/originals';
import { copyFileToServer } from '@/lib/diary/copy-rows';
import { postgresqlUrl } from '@/lib/diary/engine';
import { hasRows } from '@/lib/diary/server-facts';
import { applyMigrations } from '@/lib/diary/migrate';
import { applyPostgresqlMigrations } from '@/lib/diary/migrate-postgresql';
import { FolderInUse, FolderRefused, holdFolder, type Hold } from '@/lib/door/folder-lock';
import { parseArchiveManifest } from '@/lib/forms/archive-manifest';
import { keepArchive, photoEntryName } from './keep-archive';
import { proveForeign, proveOurs } from './prove-database';

export interface Restored {
  readonly madeAt: Date;
  readonly photos: number;
  /** Photos the archive itself says it lacks. */
  readonly missing: readonly string[];
  /** Migrations that brought an older diary up to date. */
  readonly migrated: readonly string[];
  /** Where the earlier data lies now, or null when the folder was empty. */
  readonly earlierData: string | null;
}

/**
 * Puts an archive's diary into a data folder, empty or not. All of it is unpacked beside the present data and proved
 * first: names, sizes, hashes, the database's own integrity, every photo it lists, its migrations. Only then the two
 * are swapped; the earlier data stays in a folder of its own. When anything is off, nothing is changed.
 * @throws ArchiveRefused with the reason
 */
export async function restoreArchive(
  file: string,
  folder: string,
  now: Date,
  onProgress?: (doneBytes: number, totalBytes: number) => void,
): Promise<Restored> {
  let hold: Hold;
  try {
    // From here on nobody serves, archives or migrates this folder until the restore is through.
    hold = holdFolder(folder, 'restoring');
  } catch (error) {
    if (!(error instanceof FolderRefused)) throw error;
    throw new ArchiveRefused(
      `${error.message}${error instanceof FolderInUse ? ' Stop it, or wait for it, first.' : ''}`,
      { cause: error },
    );
  }
  const stamp = now.toISOString().replaceAll(/[-:]|\.\d+/g, '');
  const staged = path.join(folder, `restore-${stamp}`);
  try {
    await finishSwap(folder);
    if (existsSync(staged)) await rm(staged, { recursive: true, force: true });
    const manifest = await readArchive({
      file,
      into: staged,
      parseManifest: parseArchiveManifest,
      ...(onProgress ? { onProgress } : {}),
    });
    await proveDatabase(
      staged,
      manifest.entries.map((entry) => entry.name),
      manifest.missing,
    );
    const migrated = await bringUpToDate(staged);
    await proveOurs(path.join(staged, databaseEntry), staged);
    await mkdir(path.join(staged, 'photos'), { recursive: true });
    await settleAll(staged);
    const server = postgresqlUrl();
    const earlierData =
      server === undefined
        ? await swapIn(folder, path.basename(staged), `before-restore-${stamp}`)
        : await ontoServer(server, staged, folder, now);
    // Where there is a store, what was restored goes there too; a stop before its end is for doctor to find.
    for (const { name } of manifest.entries) await shelveEntry(folder, name);
    return {
      madeAt: manifest.madeAt,
      photos: manifest.entries.length - 1,
      missing: manifest.missing,
      migrated,
      earlierData,
    };
  } catch (error) {
    if (!existsSync(path.join(folder, 'restoring.json')))
      await rm(staged, { recursive: true, force: true }).catch(() => undefined);
    throw sentenceFor(error);
  } finally {
    hold.release();
  }
}

/**
 * The same for a diary on PostgreSQL. What is there is archived first; then photos come (each under its own hash, so
 * none is in another's way), then all rows in one transaction. A stop before its end leaves the earlier diary, with
 * photos that no row names.
 * @returns the archive with the earlier diary, or null when it was empty
 */
async function ontoServer(server: string, staged: string, folder: string, now: Date): Promise<string | null> {
  await applyPostgresqlMigrations(server);
  const earlier = (await hasRows())
    ? (
        await keepArchive({
          now,
          held: true,
          target: path.join(folder, 'archives', `before-restore-${path.basename(staged).replace('restore-', '')}.zip`),
        })
      ).path
    : null;
  for (const shelf of await readdir(path.join(staged, 'photos'))) {
    await mkdir(path.join(folder, 'photos', shelf), { recursive: true });
    for (const name of await readdir(path.join(staged, 'photos', shelf)))
      await rename(path.join(staged, 'photos', shelf, name), path.join(folder, 'photos', shelf, name));
    await settleFolder(path.join(folder, 'photos', shelf));
  }
  await settleFolder(path.join(folder, 'photos'));
  await copyFileToServer(path.join(staged, databaseEntry), server);
  await rm(staged, { recursive: true, force: true });
  return earlier;
}

async function shelveEntry(folder: string, name: string): Promise<void> {
  const photo = originalAt(name);
  if (photo !== null) await keepOriginal(folder, photo);
}

async function proveDatabase(staged: string, names: readonly string[], missing: readonly string[]): Promise<void> {
  const facts = await proveForeign(path.join(staged, databaseEntry));
  const have = new Set([...names, ...missing]);
  for (const photo of facts.photos) {
    if (!/^[0-9a-f]{64}$/.test(photo.sha256))
      throw new ArchiveRefused(
        `Expected every photo in the diary under the 64 hex digits of its hash, got one under '${photo.sha256.slice(0, 80)}'.`,
      );
    const name = photoEntryName(photo.sha256, photo.kind) ?? `photos/${photo.sha256.slice(0, 2)}/${photo.sha256}`;
    if (!have.has(name))
      throw new ArchiveRefused(`Expected every photo that the diary lists, got an archive without ${name}.`);
  }
}

/** Runs the migrations the archive's database has not been through, then folds it back into one file. */
async function bringUpToDate(staged: string): Promise<string[]> {
  const database = path.join(staged, databaseEntry);
  let migrated: string[];
  try {
    migrated = await applyMigrations(database);
  } catch (error) {
    throw new ArchiveRefused("Expected a database that this version's migrations fit, got one they don't.", {
      cause: error,
    });
  }
  const whole = path.join(staged, 'whole.db');
  await backUpDatabase(database, whole);
  await rename(whole, database);
  for (const beside of ['-wal', '-shm']) await rm(`${database}${beside}`, { force: true });
  return migrated;
}

/** Everything unpacked is on disk, names included, before anything of the present data is moved. */
async function settleAll(staged: string): Promise<void> {
  await flushToDisk(path.join(staged, databaseEntry));
  for (const entry of await readdir(path.join(staged, 'photos'), { withFileTypes: true })) {
    if (entry.isDirectory()) await settleFolder(path.join(staged, 'photos', entry.name));
  }
  await settleFolder(path.join(staged, 'photos'));
  await settleFolder(staged);
}
