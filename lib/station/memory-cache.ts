import 'server-only';
import type { CachedHours, HoursCache } from '@/lib/station/hours-source';

/** A cache in this process; keeps the `most` answers last put. */
export function memoryCache(most = 20): HoursCache {
  const kept = new Map<string, CachedHours>();
  return {
    get: async (key) => kept.get(key) ?? null,
    put: async (key, value) => {
      kept.delete(key);
      kept.set(key, value);
      const [oldest] = kept.keys();
      if (kept.size > most && oldest !== undefined) kept.delete(oldest);
    },
  };
}
