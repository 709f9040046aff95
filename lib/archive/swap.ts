import 'server-only';
import { existsSync } from 'node:fs';
import { mkdir, open, readdir, readFile, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import { settleFolder } from './write';

/**
 * Puts a restored diary in the place of the present one, so that a stop at any moment can be made good: what is about
 * to happen is written down first, each step is a rename, and doing it again from the note ends in the same place.
 */
const note = 'restoring.json';
/** What belongs to the diary itself. Prints are made again from photos, archives are not touched. */
const present = ['diary.db', 'diary.db-wal', 'diary.db-shm', 'photos'];
const arriving = ['diary.db', 'photos'];

interface Note {
  /** Folders inside the data folder. */
  readonly staged: string;
  readonly aside: string;
}

/**
 * Swaps what lies staged for what is there, which is moved aside. Both folders lie in the data folder.
 * @returns the folder with the earlier data, or null when there was none
 */
export async function swapIn(dataFolder: string, staged: string, aside: string): Promise<string | null> {
  const file = path.join(dataFolder, note);
  const handle = await open(`${file}.part`, 'w');
  await handle.writeFile(JSON.stringify({ staged, aside } satisfies Note));
  await handle.sync();
  await handle.close();
  await rename(`${file}.part`, file);
  await settleFolder(dataFolder);
  await finishSwap(dataFolder);
  return existsSync(path.join(dataFolder, aside)) ? path.join(dataFolder, aside) : null;
}

/** Finishes a swap that a stop cut short; does nothing when there is none. @returns whether there was one */
export async function finishSwap(dataFolder: string): Promise<boolean> {
  const file = path.join(dataFolder, note);
  if (!existsSync(file)) return false;
  const { staged, aside } = JSON.parse(await readFile(file, 'utf8')) as Note;
  const from = path.join(dataFolder, path.basename(staged));
  const to = path.join(dataFolder, path.basename(aside));
  const doneMark = path.join(from, 'moved-aside');
  if (!existsSync(doneMark)) {
    for (const name of present) {
      if (!existsSync(path.join(dataFolder, name))) continue;
      await mkdir(to, { recursive: true });
      await rename(path.join(dataFolder, name), path.join(to, name));
    }
    if (existsSync(to)) await settleFolder(to);
    await settleFolder(dataFolder);
    await (await open(doneMark, 'w')).close();
    await settleFolder(from);
  }
  for (const name of arriving) {
    if (existsSync(path.join(from, name))) await rename(path.join(from, name), path.join(dataFolder, name));
  }
  await settleFolder(dataFolder);
  await rm(file, { force: true });
  await rm(from, { recursive: true, force: true });
  await settleFolder(dataFolder);
  return true;
}

/** Folders with earlier data that restores moved aside. */
export async function movedAside(dataFolder: string): Promise<string[]> {
  return (await readdir(dataFolder).catch(() => [] as string[])).filter((name) =>
    /^before-restore-[0-9TZ]+$/.test(name),
  );
}
