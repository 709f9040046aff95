import { createHash } from 'node:crypto';
import { benchJpeg } from '../../darkroom/bench-photo';
import type { Random } from '../../stats/random';
import { fillForm, readForms } from './page-forms';

/** Visitors who write into a diary that is being killed under them, and keep count of what they were promised. */

export interface Acknowledged {
  /** Hash by id. */
  readonly photos: Map<string, string>;
  readonly sprays: Set<string>;
  /** Notes of a spray or photo in the order they were tried, and the place of the last one answered. */
  readonly notes: Map<string, { tried: string[]; answered: number }>;
}

export function drawJpeg(random: Random): Promise<Uint8Array> {
  const width = 400;
  const height = 300;
  const data = new Uint8Array(width * height * 3);
  for (let at = 0; at < data.length; at += 3) {
    const blade = Math.round(20 * random.normal());
    data[at] = Math.max(0, Math.min(255, 80 + blade));
    data[at + 1] = Math.max(0, Math.min(255, 115 + blade));
    data[at + 2] = Math.max(0, Math.min(255, 50 + blade));
  }
  return benchJpeg({ width, height, channels: 3, space: 'srgb', data });
}

export interface VisitedLawn {
  readonly lawnId: string;
  readonly plotIds: readonly [string, string];
  readonly productId: string;
}

/** One visitor who writes until the server is gone; only what was answered counts. */
export async function visit(
  url: string,
  ground: VisitedLawn,
  known: Acknowledged,
  random: Random,
  name: string,
  isOver: () => boolean,
): Promise<void> {
  let count = 0;
  while (!isOver()) {
    count += 1;
    const choice = random.next();
    try {
      if (choice < 0.45 || known.photos.size === 0) await upload(url, ground, known, random, `${name}-${count}`);
      else if (choice < 0.65) await logSpray(url, ground, known, `${name}-${count}`);
      else await change(url, known, random, `${name}-${count}`);
    } catch {
      if (!isOver()) await new Promise((resolve) => setTimeout(resolve, 20)); // the connection broke: nothing was promised
    }
  }
}

async function upload(
  url: string,
  ground: VisitedLawn,
  known: Acknowledged,
  random: Random,
  name: string,
): Promise<void> {
  const bytes = await drawJpeg(random);
  const answer = await fetch(
    `${url}/api/photos?lawn=${ground.lawnId}&name=${name}.jpg&viewpoint=${random.next() < 0.3 ? 'step' : ''}`,
    { method: 'PUT', body: Buffer.from(bytes) },
  );
  const said = (await answer.json()) as { ok: boolean; photoId?: string };
  if (said.ok && said.photoId) known.photos.set(said.photoId, createHash('sha256').update(bytes).digest('hex'));
}

/** Opens a page, fills the form that has a field of this name, and sends it as a browser without scripts would. */
async function submit(address: string, field: string, values: Record<string, string>): Promise<Response> {
  const html = await (await fetch(address)).text();
  const form = readForms(html).find((candidate) => candidate.fields.some(([name]) => name === field));
  if (form === undefined) throw new Error(`no form with ${field} on ${address}`);
  return fetch(address, { method: 'POST', body: fillForm(form, values), redirect: 'manual' });
}

async function logSpray(url: string, ground: VisitedLawn, known: Acknowledged, note: string): Promise<void> {
  const answer = await submit(`${url}/sprays/new`, 'startedLocal', {
    startedLocal: '2026-05-01T08:00',
    plotIds: ground.plotIds[1],
    'items.0.productId': ground.productId,
    'items.0.rate.value': '100',
    'items.0.rate.unit': 'g/100m2',
    note,
  });
  const id = /\/sprays\/([a-z0-9]+)$/.exec(answer.headers.get('location') ?? '')?.[1];
  if (answer.status !== 303 || !id) return;
  known.sprays.add(id);
  known.notes.set(id, { tried: [note], answered: 0 });
}

const changing = new Set<string>();

/** Changes the note of a spray or a photo. */
async function change(url: string, known: Acknowledged, random: Random, note: string): Promise<void> {
  const ids = [...known.sprays, ...known.photos.keys()].filter((id) => !changing.has(id));
  if (ids.length === 0) return;
  const id = ids[random.below(ids.length)] as string;
  const notes = known.notes.get(id) ?? { tried: [''], answered: 0 };
  known.notes.set(id, notes);
  changing.add(id); // one change of an entry at a time, so that the last one answered is known
  try {
    const place = notes.tried.push(note) - 1;
    const isSpray = known.sprays.has(id);
    const answer = await submit(
      isSpray ? `${url}/sprays/${id}/edit` : `${url}/photos/${id}`,
      isSpray ? 'startedLocal' : 'takenLocal',
      { note },
    );
    if (isSpray ? answer.status === 303 : answer.status === 200 && (await answer.text()).includes('Saved.'))
      notes.answered = place;
  } finally {
    changing.delete(id);
  }
}

/** How many entries' changes were answered. */
export const changes = (known: Acknowledged): number =>
  [...known.notes.values()].filter((notes) => notes.answered > 0).length;
