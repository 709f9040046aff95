import 'server-only';
import { readdir, rm, stat } from 'node:fs/promises';
import path from 'node:path';

/**
 * What a stop in the middle of something leaves in a data folder: half-made archives, prints and notes, unpacked
 * restores.
 */

/** A folder in which a process makes an archive: its name tells whose it is. */
export const makingPrefix = (pid: number, born: string | null): string =>
  `making-${pid}-${Buffer.from(born ?? '').toString('hex')}-`;

const makingName = /^making-(?:(\d+)-([0-9a-f]*)-)?[A-Za-z0-9]{6}$/;

export type IsRunning = (pid: number, born: string | null) => boolean;

/** Folders beside kept archives that a process which is gone was making one in, as full paths. */
export async function abandonedMakings(folder: string, isRunning: IsRunning): Promise<string[]> {
  const names = await readdir(folder).catch(() => [] as string[]);
  return names
    .filter((name) => {
      const [whole, pid, born = ''] = makingName.exec(name) ?? [];
      return (
        whole !== undefined &&
        (pid === undefined || !isRunning(Number(pid), Buffer.from(born, 'hex').toString() || null))
      );
    })
    .map((name) => path.join(folder, name));
}

/**
 * All that a stop left behind in this data folder, as paths relative to it. Only for whoever holds the folder: others
 * may be at work.
 */
export async function leftBehind(dataFolder: string, isRunning: IsRunning): Promise<string[]> {
  const here = await readdir(dataFolder).catch(() => [] as string[]);
  // A restore whose last steps are still to be done needs what it unpacked.
  const swapping = here.includes('restoring.json');
  const found = here
    .filter(
      (name) =>
        (!swapping && /^restore-[0-9TZ]+$/.test(name)) ||
        /^(?:restoring|door|in-use|door-tries)\.json(?:\.[0-9a-f]+)?\.part$|^diary\.db\.migrating/.test(name),
    )
    .map((name) => path.join(dataFolder, name));
  const archives = path.join(dataFolder, 'archives');
  found.push(...(await abandonedMakings(archives, isRunning)));
  found.push(...(await partsIn(archives)));
  const prints = path.join(dataFolder, 'prints');
  for (const entry of await readdir(prints, { withFileTypes: true }).catch(() => []))
    if (entry.isDirectory()) found.push(...(await partsIn(path.join(prints, entry.name))));
  return found.map((file) => path.relative(dataFolder, file)).sort();
}

async function partsIn(folder: string): Promise<string[]> {
  return (await readdir(folder).catch(() => [] as string[]))
    .filter((name) => name.endsWith('.part'))
    .map((name) => path.join(folder, name));
}

/**
 * Removes what a stop left behind. Only for whoever holds the folder.
 * @returns how many things, and how many bytes they took
 */
export async function clearLeftBehind(
  dataFolder: string,
  isRunning: IsRunning,
): Promise<{ count: number; bytes: number }> {
  const names = await leftBehind(dataFolder, isRunning);
  let bytes = 0;
  for (const name of names) {
    const whole = path.join(dataFolder, name);
    bytes += await bytesOf(whole);
    await rm(whole, { recursive: true, force: true });
  }
  return { count: names.length, bytes };
}

async function bytesOf(whole: string): Promise<number> {
  const info = await stat(whole).catch(() => null);
  if (info === null) return 0;
  if (!info.isDirectory()) return info.size;
  let bytes = 0;
  for (const name of await readdir(whole).catch(() => [] as string[])) bytes += await bytesOf(path.join(whole, name));
  return bytes;
}
