import 'server-only';
import { statfs } from 'node:fs/promises';
import { checkBucket, hasBucket } from '@/lib/darkroom/bucket';
import { isWritable } from '@/lib/darkroom/shelf';
import { diaryAnswers } from '@/lib/diary/client';
import { dataFolder } from '@/lib/forms/environment';

export interface Health {
  readonly ok: boolean;
  readonly database: 'ok' | 'no answer';
  readonly dataFolder: 'ok' | 'not writable';
  readonly disk: 'ok' | 'nearly full';
  /** Only where photos lie in a store. */
  readonly photoStore?: 'ok' | 'no answer';
}

/** Room for a few photos and their database pages. */
const LOW_DISK_BYTES = 200_000_000;

/** Whether the diary answers, its folder can be written to, and there is room for more. */
export async function checkHealth(): Promise<Health> {
  const folder = dataFolder();
  const store = hasBucket()
    ? checkBucket().then(
        () => true,
        () => false,
      )
    : null;
  const [database, writable, disk, shelved] = await Promise.all([
    diaryAnswers(),
    isWritable(folder),
    statfs(folder).catch(() => null),
    store,
  ]);
  const room = disk !== null && disk.bavail * disk.bsize >= LOW_DISK_BYTES;
  return {
    ok: database && writable && room && shelved !== false,
    database: database ? 'ok' : 'no answer',
    dataFolder: writable ? 'ok' : 'not writable',
    disk: room ? 'ok' : 'nearly full',
    ...(shelved === null ? {} : { photoStore: shelved ? ('ok' as const) : ('no answer' as const) }),
  };
}
