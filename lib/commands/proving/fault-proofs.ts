import path from 'node:path';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { inspectDatabase } from '../../archive/database';
import { orphansIn, STRAYS } from '../../darkroom/shelf';
import { closeDiary } from '../../diary/client';
import { findPhoto } from '../../diary/photos';
import { findSpray } from '../../diary/sprays';
import { photoEntryName } from '../../work/keep/keep-archive';
import type { Acknowledged } from './fault-visitors';
import { prove } from './fault-server';

/** What must hold after any kill, before anything is cleaned up. */
export async function proveKept(folder: string, known: Acknowledged, when: string): Promise<void> {
  const facts = await inspectDatabase(path.join(folder, 'diary.db'));
  prove(`${when}: the database is sound`, facts.integrity.length === 0 && facts.foreignKeys === 0, facts.integrity[0]);
  const rows = new Map(facts.photos.map((photo) => [photo.sha256, photo]));
  for (const [id, sha256] of known.photos) prove(`${when}: answered photo ${id} has its row`, rows.has(sha256));
  for (const photo of facts.photos) {
    const file = path.join(folder, photoEntryName(photo.sha256, photo.kind) ?? '?');
    const whole = existsSync(file) && createHash('sha256').update(readFileSync(file)).digest('hex') === photo.sha256;
    prove(`${when}: the row of ${photo.sha256.slice(0, 12)} has its file with the right bytes`, whole);
  }
}

export type Prove = (fact: string, holds: boolean, but?: string) => void;

/** Sprays and notes that were answered are in the diary, whole. */
export async function proveWritten(known: Acknowledged, prove: Prove): Promise<void> {
  for (const id of known.sprays) {
    const spray = await findSpray(id);
    prove(
      `answered spray ${id} is there, whole`,
      spray !== null && spray.items.length === 1 && spray.plots.length === 1,
    );
  }
  for (const [id, { tried, answered }] of known.notes) {
    const note = (known.sprays.has(id) ? await findSpray(id) : await findPhoto(id))?.note;
    prove(
      `${id} holds its last answered change or a later one`,
      note !== undefined && tried.lastIndexOf(note) >= answered,
      note,
    );
  }
}

export async function proveEnd(folder: string, known: Acknowledged): Promise<void> {
  const facts = await inspectDatabase(path.join(folder, 'diary.db'));
  prove(
    'no photo still waits to be measured',
    facts.photos.every((photo) => photo.state !== 'waiting'),
    facts.photos.filter((photo) => photo.state === 'waiting').length.toString(),
  );
  const hashes = new Set(facts.photos.map((photo) => photo.sha256));
  const orphans = await orphansIn(folder, (sha256) => hashes.has(sha256));
  prove('no file on the shelf is without a row', orphans.length === 0, `${orphans.length} are`);
  await proveWritten(known, prove);
  await closeDiary();
}

export const findStrays = async (folder: string) => (await readdir(path.join(folder, STRAYS)).catch(() => [])).length;
