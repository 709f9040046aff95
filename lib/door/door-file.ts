import { randomBytes } from 'node:crypto';
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import path from 'node:path';

/**
 * The door's own file in the data folder. It is no part of the diary, so an archive carries no way in and restoring an
 * older one brings no ended session back to life.
 */
export interface DoorFile {
  /** Random, made once; with the passphrase it makes the keys. */
  readonly salt: Uint8Array;
  /** Raised by 'sign out everywhere': sessions of an earlier epoch are over. */
  readonly epoch: number;
}

const fileOf = (dataFolder: string) => path.join(dataFolder, 'door.json');

/** Reads the file, made when absent. @throws Error with one sentence when it is there but can't be read */
export function readDoorFile(dataFolder: string): DoorFile {
  let text: string;
  try {
    text = readFileSync(fileOf(dataFolder), 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    const fresh = { salt: randomBytes(16), epoch: 1 };
    writeDoorFile(dataFolder, fresh);
    return fresh;
  }
  try {
    const { salt, epoch } = JSON.parse(text) as { salt: string; epoch: number };
    if (!/^[0-9a-f]{32}$/.test(salt) || !Number.isSafeInteger(epoch)) throw new Error('not a door file');
    return { salt: Buffer.from(salt, 'hex'), epoch };
  } catch (error) {
    throw new Error(
      `${fileOf(dataFolder)}: expected this diary's door file, got something else; remove it and everybody signs in anew`,
      { cause: error },
    );
  }
}

export function writeDoorFile(dataFolder: string, { salt, epoch }: DoorFile): void {
  mkdirSync(dataFolder, { recursive: true });
  const temporary = `${fileOf(dataFolder)}.part`;
  writeFileSync(temporary, JSON.stringify({ salt: Buffer.from(salt).toString('hex'), epoch }), {
    mode: 0o600,
    flush: true,
  });
  renameSync(temporary, fileOf(dataFolder));
}

/** The door's facts where one process serves the diary: in the data folder. */
export const doorFactsInFolder = (dataFolder: string) => ({
  read: async (): Promise<DoorFile> => readDoorFile(dataFolder),
  raise: async (facts: DoorFile): Promise<DoorFile> => {
    const raised = { ...facts, epoch: facts.epoch + 1 };
    writeDoorFile(dataFolder, raised);
    return raised;
  },
});
