'use client';
import { useCallback, useEffect, useRef, useState } from 'react';
import { dropShot, keepShot, sendShot, waitingShots, type Shot } from './shot-queue';

export interface Sent {
  key: string;
  photoId: string;
  fileName: string;
}

/** One tab sends at a time; without the lock (an address that isn't secure) sending twice is harmless, only slower. */
function alone(work: () => Promise<void>): Promise<void> {
  return 'locks' in navigator
    ? navigator.locks.request('swathbook-send', { ifAvailable: true }, async (lock) => (lock ? work() : undefined))
    : work();
}

/**
 * The queue of shots on this phone: what waits, what the diary has taken since the page was opened, and how to add to
 * it.
 */
export function useQueue() {
  const [waiting, setWaiting] = useState<Shot[]>([]);
  const [sent, setSent] = useState<Sent[]>([]);
  const [notes, setNotes] = useState<Record<string, string>>({});
  const [trouble, setTrouble] = useState('');
  const busy = useRef(false);

  const look = useCallback(async () => {
    try {
      setWaiting(await waitingShots());
    } catch {
      setTrouble(
        'This browser keeps no store of its own here (a private window, perhaps): stay on the page until a shot is sent.',
      );
    }
  }, []);

  const pump = useCallback(async () => {
    if (busy.current) return;
    busy.current = true;
    try {
      await alone(async () => {
        for (const shot of await waitingShots()) {
          if (shot.refused !== undefined) continue;
          const result = await sendShot(shot);
          setNotes((all) => ({ ...all, [shot.key]: result.message }));
          if (result.kind === 'later') break;
          if (result.kind === 'kept') {
            await dropShot(shot.key);
            setSent((all) => [...all, { key: shot.key, photoId: result.photoId, fileName: shot.fileName }]);
          } else await keepShot({ ...shot, refused: result.message });
          await look();
        }
      });
    } catch {
      // The store is away: `look` says so.
    } finally {
      busy.current = false;
      await look();
    }
  }, [look]);

  useEffect(() => {
    const first = setTimeout(() => void pump(), 0);
    const timer = setInterval(() => void pump(), 15_000);
    const now = () => void pump();
    window.addEventListener('online', now);
    document.addEventListener('visibilitychange', now);
    return () => {
      clearTimeout(first);
      clearInterval(timer);
      window.removeEventListener('online', now);
      document.removeEventListener('visibilitychange', now);
    };
  }, [pump]);

  const add = useCallback(
    async (shot: Shot) => {
      await keepShot(shot);
      await look();
      void pump();
    },
    [look, pump],
  );
  const again = useCallback(
    async ({ refused: _refused, ...shot }: Shot) => {
      await keepShot(shot);
      await look();
      void pump();
    },
    [look, pump],
  );
  const discard = useCallback(
    async (key: string) => {
      await dropShot(key);
      await look();
    },
    [look],
  );
  return { waiting, sent, notes, trouble, add, again, discard };
}
