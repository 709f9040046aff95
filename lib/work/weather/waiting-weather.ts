import 'server-only';
import { onShelf, unshelve, type Shelved } from '@/lib/darkroom/bucket';
import { putInStore, readFromStore, STORE_FOLDERS } from '@/lib/darkroom/store-files';
import { dataFolder } from '@/lib/forms/environment';
import {
  dropWaitingFile,
  findWaitingFile,
  keepWaitingFile,
  KEPT_DAYS,
  listWaitingFiles,
  waitingFilePath,
  type WaitingFile,
} from '@/lib/station/waiting-file';
import { DAY_MS } from '@/lib/units/time';
import { filesLieInStore } from '../keep/shared-files';

/**
 * Weather files between upload and import, for whichever process is asked: in the data folder, or where several serve
 * one diary with a store, there. A key is the file's id and its name; the data folder then holds a copy.
 */
const LONGEST_NAME = 150;
const idIn = (key: string): string => key.slice(STORE_FOLDERS.weather.length).split('/', 1)[0] ?? '';
const fileOf = ({ key, bytes }: Shelved): WaitingFile => ({
  id: idIn(key),
  name: Buffer.from(key.split('/').at(-1) ?? '', 'base64url').toString(),
  bytes,
});

async function inStore(id = ''): Promise<Shelved[]> {
  const found: Shelved[] = [];
  for await (const one of onShelf(STORE_FOLDERS.weather + (id === '' ? '' : `${id}/`))) found.push(one);
  return found;
}

/** Takes a file in; it waits in this process's folder alone until `shareWaiting`. */
export const takeWaiting = (name: string, source: Parameters<typeof keepWaitingFile>[2]) =>
  keepWaitingFile(dataFolder(), name, source);

/** Lets every process have a file that was taken in. @throws BucketTrouble */
export async function shareWaiting({ id, name }: WaitingFile, now: Date): Promise<void> {
  if (!filesLieInStore()) return;
  for (const { key, changedAt } of await inStore())
    if (now.getTime() - changedAt.getTime() > KEPT_DAYS * DAY_MS) await unshelve(key);
  const named = Buffer.from(name.slice(0, LONGEST_NAME)).toString('base64url');
  await putInStore(`${STORE_FOLDERS.weather}${id}/${named}`, waitingFilePath(dataFolder(), id));
}

/** A waiting file by its id, its bytes at hand, or null when it is not there (any more). */
export async function findWaiting(id: string): Promise<WaitingFile | null> {
  const here = await findWaitingFile(dataFolder(), id);
  if (!filesLieInStore() || !/^[0-9a-f-]{36}$/.test(id)) return here;
  const [there] = await inStore(id);
  if (there === undefined) {
    // Another process imported it or let it go.
    if (here) await dropWaitingFile(dataFolder(), id);
    return null;
  }
  if (here?.bytes === there.bytes) return here;
  const source = await readFromStore(there.key);
  const file = fileOf(there);
  return source && (await keepWaitingFile(dataFolder(), file.name, source, undefined, id)).ok ? file : null;
}

/** All files that wait, the latest first. */
export async function listWaiting(): Promise<WaitingFile[]> {
  if (!filesLieInStore()) return listWaitingFiles(dataFolder());
  return (await inStore()).sort((a, b) => b.changedAt.getTime() - a.changedAt.getTime()).map(fileOf);
}

export async function dropWaiting(id: string): Promise<void> {
  if (filesLieInStore()) for (const { key } of await inStore(id)) await unshelve(key);
  await dropWaitingFile(dataFolder(), id);
}
