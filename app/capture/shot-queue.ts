import type { Tilt } from '@/lib/photo/ground/tilt';

/**
 * Shots waiting on this phone, in IndexedDB, until the diary says that it has them. A shot is written before the
 * shutter counts as done and removed only after the server's ok; sending one twice does no harm, since the same bytes
 * are one photo.
 */

export interface Shot {
  key: string;
  bytes: Blob;
  lawnId: string;
  viewpoint: string;
  fileName: string;
  /** ISO instant with the phone's offset. */
  taken: string;
  /** How the phone was held at the shutter, where it tells. */
  tilt?: Tilt;
  /** The diary's reason for not taking it; such a shot waits until somebody looks at it. */
  refused?: string;
}

const store = 'shots';

function open(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open('swathbook-capture', 1);
    request.addEventListener('upgradeneeded', () => request.result.createObjectStore(store, { keyPath: 'key' }));
    request.addEventListener('success', () => resolve(request.result));
    request.addEventListener('error', () =>
      reject(request.error ?? new Error('The phone’s own store could not be opened.')),
    );
  });
}

async function change(work: (shots: IDBObjectStore) => void): Promise<void> {
  const database = await open();
  try {
    await new Promise<void>((resolve, reject) => {
      // Strict: the shot must outlive a flat battery, not only a closed page.
      const transaction = database.transaction(store, 'readwrite', { durability: 'strict' });
      transaction.addEventListener('complete', () => resolve());
      transaction.addEventListener('abort', () =>
        reject(transaction.error ?? new Error('The phone’s own store refused the shot.')),
      );
      work(transaction.objectStore(store));
    });
  } finally {
    database.close();
  }
}

export const keepShot = (shot: Shot): Promise<void> => change((shots) => shots.put(shot));
export const dropShot = (key: string): Promise<void> => change((shots) => shots.delete(key));

/** The shots that wait, oldest first. */
export async function waitingShots(): Promise<Shot[]> {
  const database = await open();
  try {
    return await new Promise<Shot[]>((resolve, reject) => {
      const request = database.transaction(store).objectStore(store).getAll() as IDBRequest<Shot[]>;
      request.addEventListener('success', () => resolve(request.result.sort((a, b) => a.key.localeCompare(b.key))));
      request.addEventListener('error', () =>
        reject(request.error ?? new Error('The phone’s own store could not be read.')),
      );
    });
  } finally {
    database.close();
  }
}

export type SendResult =
  | { kind: 'kept'; photoId: string; message: string }
  | { kind: 'refused'; message: string }
  | { kind: 'later'; message: string };

/** Sends one shot. Anything but the diary's own word counts as "later". */
export async function sendShot(shot: Shot): Promise<SendResult> {
  const query = new URLSearchParams({
    lawn: shot.lawnId,
    name: shot.fileName,
    viewpoint: shot.viewpoint,
    taken: shot.taken,
  });
  if (shot.tilt) query.set('pitch', shot.tilt.pitchDeg.toFixed(2));
  if (shot.tilt && shot.tilt.rollDeg !== null) query.set('roll', shot.tilt.rollDeg.toFixed(2));
  let response: Response;
  try {
    response = await fetch(`/api/photos?${query}`, {
      method: 'PUT',
      body: shot.bytes,
      signal: AbortSignal.timeout(180_000),
    });
  } catch {
    return { kind: 'later', message: 'No connection; it is sent when there is one.' };
  }
  const answer = (await response.json().catch(() => null)) as {
    ok?: boolean;
    photoId?: string;
    message?: string;
  } | null;
  if (answer?.ok && answer.photoId)
    return { kind: 'kept', photoId: answer.photoId, message: answer.message ?? 'Kept.' };
  if (response.status === 401 || response.status === 403 || response.redirected)
    return { kind: 'later', message: 'The diary asks for its passphrase: open the Diary, sign in, and come back.' };
  if ((response.status === 400 || response.status === 404) && answer?.message)
    return { kind: 'refused', message: answer.message };
  return { kind: 'later', message: answer?.message ?? `The diary answered ${response.status}; it is tried again.` };
}

/** An instant as this phone's clock shows it, with its offset: 2026-05-01T07:30:00-06:00. */
function localIso(at: Date): string {
  const minutes = -at.getTimezoneOffset();
  const two = (value: number) => String(value).padStart(2, '0');
  const shown = new Date(at.getTime() + minutes * 60_000).toISOString().slice(0, 19);
  return `${shown}${minutes < 0 ? '-' : '+'}${two(Math.floor(Math.abs(minutes) / 60))}:${two(Math.abs(minutes) % 60)}`;
}

/** A shot of now, or of the time named. */
export function shotOf(
  bytes: Blob,
  lawnId: string,
  viewpoint: string,
  at: Date,
  { fileName, tilt }: { fileName?: string | undefined; tilt?: Tilt | undefined } = {},
): Shot {
  const taken = localIso(at);
  const extension = bytes.type === 'image/png' ? 'png' : 'jpg';
  return {
    key: `${String(at.getTime()).padStart(15, '0')}-${Math.random().toString(36).slice(2, 10)}`,
    bytes,
    lawnId,
    viewpoint,
    fileName: fileName ?? `lawn-${taken.slice(0, 19).replaceAll(':', '-')}.${extension}`,
    taken,
    ...(tilt ? { tilt } : {}),
  };
}
