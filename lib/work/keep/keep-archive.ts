import 'server-only';
import { existsSync, readFileSync } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, stat, statfs } from 'node:fs/promises';
import path from 'node:path';
import { backUpDatabase, inspectDatabase } from '@/lib/archive/database';
import { databaseEntry } from '@/lib/archive/entries';
import { readArchive } from '@/lib/archive/read';
import { ArchiveRefused } from '@/lib/archive/refused';
import { abandonedMakings, makingPrefix } from '@/lib/archive/left-overs';
import { sentenceFor, writeArchive, type FileToKeep } from '@/lib/archive/write';
import { originalOf } from '@/lib/darkroom/originals';
import { photoPath } from '@/lib/darkroom/shelf';
import { KIND_FACTS, type PhotoKind } from '@/lib/darkroom/sniff';
import { copyServerToFile } from '@/lib/diary/copy-rows';
import { postgresqlUrl } from '@/lib/diary/engine';
import { applyMigrations } from '@/lib/diary/migrate';
import { FolderRefused, holdUnlessServed, type Hold } from '@/lib/door/folder-lock';
import { isRunning, startOf } from '@/lib/door/process-life';
import { archiveManifestText, parseArchiveManifest } from '@/lib/forms/archive-manifest';
import { dataFolder } from '@/lib/forms/environment';

export interface ArchiveProgress {
  readonly step: 'copying the database' | 'writing' | 'checking' | 'putting it into the store';
  readonly doneBytes: number;
  readonly totalBytes: number;
}

export interface KeptArchive {
  readonly name: string;
  readonly path: string;
  readonly bytes: number;
  readonly madeAt: Date;
}

const namePattern = /^swathbook-(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})Z\.zip$/;

const archiveName = (now: Date): string => `swathbook-${now.toISOString().replaceAll(/[-:]|\.\d+/g, '')}.zip`;

/** When an archive of this name was made; null when the name is none of an archive. */
export function archiveMadeAt(name: string): Date | null {
  const [, year, month, day, hour, minute, second] = namePattern.exec(name) ?? [];
  return year === undefined ? null : new Date(`${year}-${month}-${day}T${hour}:${minute}:${second}Z`);
}

const archivesFolder = (): string => path.join(/* turbopackIgnore: true */ dataFolder(), 'archives');

/** The version of the program, from package.json. */
export function programVersion(): string {
  return (
    JSON.parse(readFileSync(path.join(/* turbopackIgnore: true */ process.cwd(), 'package.json'), 'utf8')) as {
      version: string;
    }
  ).version;
}

/** A photo's file as it is called inside an archive, or null when its kind is unknown here. */
export function photoEntryName(sha256: string, kind: string): string | null {
  if (!Object.hasOwn(KIND_FACTS, kind)) return null;
  return path
    .relative('/', photoPath('/', sha256, kind as PhotoKind))
    .split(path.sep)
    .join('/');
}

/**
 * Makes one file of everything: the database by online backup (others may read and write meanwhile) and every photo it
 * lists, with a manifest of hashes; then reads it back whole. `held`: the caller has the folder already; `anew`: one of
 * the same name is of the same making, and is replaced. Photos whose files are gone are named, not silently left out.
 * @throws ArchiveRefused with one sentence; nothing is left behind then
 */
export async function keepArchive({
  now,
  target,
  held = false,
  anew = false,
  onProgress = () => {},
}: {
  now: Date;
  target?: string;
  held?: boolean;
  anew?: boolean;
  onProgress?: (progress: ArchiveProgress) => void;
}): Promise<KeptArchive & { missing: readonly string[]; photos: number }> {
  const folder = dataFolder();
  const server = postgresqlUrl();
  if (server === undefined && !existsSync(path.join(folder, databaseEntry)))
    throw new ArchiveRefused(`Expected a diary in '${folder}', found none.`);
  const file = path.resolve(target ?? path.join(archivesFolder(), archiveName(now)));
  if (existsSync(file) && !anew)
    throw new ArchiveRefused(`Expected a name that is free, got '${file}', which is there already.`);
  let scratch: string | undefined;
  let hold: Hold | null = null;
  try {
    // Beside a server, which has the folder; else nobody may restore or migrate while its parts are copied.
    if (!held) hold = holdUnlessServed(folder, 'archiving');
    await mkdir(path.dirname(file), { recursive: true });
    for (const abandoned of await abandonedMakings(path.dirname(file), isRunning))
      await rm(abandoned, { recursive: true, force: true });
    scratch = await mkdtemp(path.join(path.dirname(file), makingPrefix(process.pid, startOf(process.pid))));
    onProgress({ step: 'copying the database', doneBytes: 0, totalBytes: 0 });
    const copy = path.join(scratch, databaseEntry);
    await backUpDatabase(server === undefined ? path.join(folder, databaseEntry) : await asFile(server, scratch), copy);
    const facts = await inspectDatabase(copy);
    if (facts.integrity.length > 0)
      throw new ArchiveRefused(
        `Expected a sound database, got trouble: ${facts.integrity[0]}. 'npm run doctor' says more.`,
      );

    const files: FileToKeep[] = [{ name: databaseEntry, path: copy, bytes: (await stat(copy)).size, compress: true }];
    const missing: string[] = [];
    for (const photo of facts.photos) {
      const name = photoEntryName(photo.sha256, photo.kind) ?? `photos/${photo.sha256.slice(0, 2)}/${photo.sha256}`;
      if (Object.hasOwn(KIND_FACTS, photo.kind))
        await originalOf(folder, { sha256: photo.sha256, kind: photo.kind as PhotoKind });
      const original = path.join(folder, ...name.split('/'));
      const info = await stat(original).catch(() => null);
      if (info?.isFile()) files.push({ name, path: original, bytes: info.size, sha256: photo.sha256 });
      else missing.push(name);
    }
    const totalBytes = files.reduce((sum, entry) => sum + entry.bytes, 0);
    const { bavail, bsize } = await statfs(path.dirname(file));
    if (bavail * bsize < totalBytes)
      throw new ArchiveRefused(
        `Expected ${Math.ceil(totalBytes / 1e6)} MB of free disk for the archive, got ${Math.floor((bavail * bsize) / 1e6)} MB.`,
      );

    const bytes = await writeArchive({
      target: file,
      temporary: path.join(scratch, 'archive.part'),
      files,
      manifest: (entries) =>
        archiveManifestText({ madeAt: now, program: programVersion(), migrations: facts.migrations, entries, missing }),
      onProgress: (doneBytes) => onProgress({ step: 'writing', doneBytes, totalBytes }),
    });
    try {
      await readArchive({
        file,
        into: null,
        parseManifest: parseArchiveManifest,
        onProgress: (doneBytes) => onProgress({ step: 'checking', doneBytes, totalBytes }),
      });
    } catch (error) {
      await rm(file, { force: true });
      throw error;
    }
    return { name: path.basename(file), path: file, bytes, madeAt: now, missing, photos: files.length - 1 };
  } catch (error) {
    throw error instanceof FolderRefused ? new ArchiveRefused(error.message, { cause: error }) : sentenceFor(error);
  } finally {
    hold?.release();
    if (scratch !== undefined) await rm(scratch, { recursive: true, force: true }).catch(() => undefined);
  }
}

/** A diary on PostgreSQL as a SQLite file: every archive holds one, so that it can be put back on either. */
async function asFile(server: string, scratch: string): Promise<string> {
  const file = path.join(scratch, 'rows.db');
  await applyMigrations(file);
  await copyServerToFile(server, file);
  return file;
}

/** The archives kept in the data folder, newest first. */
export async function listArchives(): Promise<KeptArchive[]> {
  const names = await readdir(archivesFolder()).catch(() => [] as string[]);
  const kept = await Promise.all(
    names.map(async (name): Promise<KeptArchive | null> => {
      const madeAt = archiveMadeAt(name);
      if (madeAt === null) return null;
      const file = path.join(archivesFolder(), name);
      const info = await stat(file).catch(() => null);
      return info?.isFile() ? { name, path: file, bytes: info.size, madeAt } : null;
    }),
  );
  return kept.filter((archive) => archive !== null).sort((a, b) => b.name.localeCompare(a.name));
}

/** Leaves the newest `keep` archives of the data folder and removes older ones. @returns the names removed */
export async function thinArchives(keep: number): Promise<string[]> {
  const old = (await listArchives()).slice(keep);
  for (const archive of old) await rm(archive.path, { force: true });
  return old.map((archive) => archive.name);
}

/** Removes one kept archive. Gone already is fine. */
export async function discardArchive(name: string): Promise<void> {
  if (archiveMadeAt(name) !== null) await rm(path.join(archivesFolder(), name), { force: true });
}
