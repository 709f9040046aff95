import { readFileSync, renameSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { Attempts, type KeptTries, type Tries } from './attempts';

/**
 * Wrong entries as they outlive a stop, in the data folder. Addresses are kept as fingerprints only; no archive carries
 * the file.
 */
const fileOf = (dataFolder: string) => path.join(dataFolder, 'door-tries.json');
const MAX_ADDRESSES = 10_000;
const isCount = (value: unknown): value is number => typeof value === 'number' && Number.isFinite(value) && value >= 0;

/**
 * What was kept, made older by the time since; null when there is nothing that can be read. A clock set back counts as
 * no time.
 */
export function readTries(dataFolder: string, wallNow: number): KeptTries | null {
  try {
    const { savedAt, all, byAddress } = JSON.parse(readFileSync(fileOf(dataFolder), 'utf8')) as KeptTries & {
      savedAt: number;
    };
    if (!isCount(savedAt) || !isCount(all.wrong) || !isCount(all.agoMs)) return null;
    const since = Math.max(0, wallNow - savedAt);
    const older = (tries: { wrong: number; agoMs: number }) => ({ wrong: tries.wrong, agoMs: tries.agoMs + since });
    const whole = Object.entries(byAddress).filter(([, tries]) => isCount(tries.wrong) && isCount(tries.agoMs));
    return { all: older(all), byAddress: Object.fromEntries(whole.map(([address, tries]) => [address, older(tries)])) };
  } catch {
    return null;
  }
}

/** Keeps the tries. A disk that won't take them is no reason to keep anybody out. */
export function writeTries(dataFolder: string, tries: KeptTries, wallNow: number): void {
  try {
    const byAddress = Object.fromEntries(Object.entries(tries.byAddress).slice(-MAX_ADDRESSES));
    writeFileSync(`${fileOf(dataFolder)}.part`, JSON.stringify({ savedAt: wallNow, all: tries.all, byAddress }), {
      mode: 0o600,
    });
    renameSync(`${fileOf(dataFolder)}.part`, fileOf(dataFolder));
  } catch {
    // In memory they count all the same, until this process ends.
  }
}

/** Counts wrong entries where one process serves the diary: in memory, and in the data folder over a stop. */
export function triesInFolder(dataFolder: string): Tries {
  const attempts = new Attempts(performance.now(), readTries(dataFolder, Date.now()));
  const keep = () => writeTries(dataFolder, attempts.kept(performance.now()), Date.now());
  return {
    begin: async (address) => {
      const wait = attempts.waitMs(address, performance.now());
      if (wait > 0) return wait;
      attempts.count(address, performance.now());
      keep();
      return 0;
    },
    forgive: async (address) => {
      attempts.forgive(address);
      keep();
    },
  };
}
