import { afterAll, beforeAll, expect, test } from 'vitest';
import { signed, intervalText } from '@/app/_ui/change-text';
import { setBinned } from '@/lib/diary/bin';
import { closeDiary, diary } from '@/lib/diary/client';
import { listLawns, updateLawn, type Lawn } from '@/lib/diary/lawns';
import { createEvent } from '@/lib/diary/lawn-events';
import { listPlots, updatePlot, type Plot } from '@/lib/diary/plots';
import { createSpray, listSprays } from '@/lib/diary/sprays';
import { createTrial } from '@/lib/diary/trials';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { photoIdsInOrder } from '@/lib/diary/worked-out';
import { changesIn } from '@/lib/work/photos/changes';
import { correctPhoto } from '@/lib/work/photos/correct-photo';
import { judgeMark, marksOfPhotos } from '@/lib/work/photos/marks';
import { photosSince } from '@/lib/work/photos/photo-links';
import { shareTrial } from '@/lib/work/trials/share-trial';
import { drawnLawn, outlineBoth, upload } from '../support/drawn-diary';
import { startServer, type TestServer } from '../support/server';
import { stopScorers } from '@/lib/darkroom/scorer';
import { stopComparer } from '@/lib/work/photos/comparer';

let server: TestServer;
let lawn: Lawn;
let plots: { check: Plot; sprayed: Plot };
let trialId: string;
let token: string;
let photos: string[];
const before = process.env['SWATHBOOK_DATA'];
const DAY = 86_400_000;

/** A page as a reader sees it: its words without tags; details count as open. */
async function words(address: string): Promise<string> {
  const response = await fetch(server.url + address);
  if (response.status !== 200) return `answered ${response.status}`;
  const html = await response.text();
  const plain = html
    .replaceAll(/<!--.*?-->/gs, '')
    .replaceAll(/<script.*?<\/script>/gs, ' ')
    .replaceAll(/<[^>]+>/g, ' ');
  return plain.replaceAll('&#x27;', '’').replaceAll('&amp;', '&').replaceAll(/\s+/g, ' ');
}

const WORKED_OUT_SINCE = /being worked out|Being read/;

/** Every address of this diary. */
async function addresses(): Promise<string[]> {
  const ids = async (rows: Promise<{ id: string }[]>) => (await rows).map((row) => row.id);
  const [photoIds, sprayIds, plotIds, markIds] = await Promise.all([
    photoIdsInOrder(lawn.id),
    ids(diary().spray.findMany({ where: { deletedAt: null }, select: { id: true } })),
    ids(diary().plot.findMany({ where: { deletedAt: null }, select: { id: true } })),
    ids(diary().mark.findMany({ where: { photo: { deletedAt: null } }, select: { id: true } })),
  ]);
  return [
    '/',
    '/response',
    '/response/against',
    '/photos',
    '/calendar',
    '/find?in=marks',
    '/find?in=photos',
    '/trials',
    '/lawn',
    '/weather',
    '/bin',
    '/shelf',
    '/plan',
    '/capture',
    '/keep',
    ...photoIds.map((id) => `/photos/${id}`),
    ...sprayIds.map((id) => `/sprays/${id}`),
    ...plotIds.map((id) => `/plots/${id}`),
    ...markIds.map((id) => `/marks/${id}`),
    `/trials/${trialId}`,
    `/trials/${trialId}/analysis`,
    `/trials/${trialId}/report`,
    `/trials/${trialId}/values.csv`,
    `/shared/${token}`,
  ];
}

/**
 * Walks every page: none breaks, what is stale says so, and once nothing is, all pages give the same answers.
 * @returns what is wrong, a sentence each
 */
async function walk(edit: string): Promise<string[]> {
  const wrong: string[] = [];
  const should = (address: string, text: string, wanted: string | RegExp, is = true) => {
    const found = typeof wanted === 'string' ? text.includes(wanted) : wanted.test(text);
    if (found !== is) wrong.push(`${edit}: ${address} ${is ? 'lacks' : 'says'} ${wanted}`);
  };
  // At once: a photo whose numbers rest on something else by now shows none of them.
  const { pending, changes: held } = await changesIn(lawn.id, await photoIdsInOrder(lawn.id));
  for (const id of pending) should(`/photos/${id} (stale)`, await words(`/photos/${id}`), WORKED_OUT_SINCE);
  for (const { photoId, headline, isBaseline, sinceSpray } of held)
    if (headline && !isBaseline && sinceSpray)
      should(`/photos/${photoId} (at once)`, await words(`/photos/${photoId}`), signed(headline.value));

  // The pages see to it themselves.
  const until = Date.now() + 240_000;
  while ((await changesIn(lawn.id, await photoIdsInOrder(lawn.id))).pending.size > 0) {
    if (Date.now() > until) return [...wrong, `${edit}: expected every photo to be worked out within four minutes`];
    await words('/response');
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
  const pages = new Map<string, string>();
  for (const address of await addresses()) pages.set(address, await words(address));
  for (const [address, text] of pages) {
    should(address, text, WORKED_OUT_SINCE, false);
    should(address, text, /check \(check\)|NaN|undefined|\[object|^answered/, false);
  }
  const page = (address: string) => pages.get(address) as string;

  // One number a plot and date.
  const ids = await photoIdsInOrder(lawn.id);
  const { changes } = await changesIn(lawn.id, ids);
  for (const { photoId, headline, isBaseline, sinceSpray } of changes) {
    if (!headline || isBaseline || !sinceSpray) continue;
    const [value, interval] = [signed(headline.value), intervalText(headline)];
    should(`/photos/${photoId}`, page(`/photos/${photoId}`), `${value} (${interval})`);
    for (const address of ['/response', `/trials/${trialId}/analysis`, `/trials/${trialId}/report`, `/shared/${token}`])
      should(address, page(address), `${value} ${interval}`);
    should('/', page('/'), value);
    should('values.csv', page(`/trials/${trialId}/values.csv`), String(headline.value));
  }
  // What a person said is the same wherever the patch is named.
  for (const mark of await marksOfPhotos(lawn.id, ids)) {
    const state = { open: 'not looked at yet', confirmed: 'confirmed', dismissed: 'dismissed' }[mark.state];
    for (const address of [`/photos/${mark.photoId}`, `/marks/${mark.id}`, `/plots/${mark.plotId}`])
      should(address, page(address), state);
    // A number that counts haze says so.
    if (mark.state !== 'dismissed')
      should(`/photos/${mark.photoId}`, page(`/photos/${mark.photoId}`), 'marked patches too');
  }
  // A spray names the photos that name it.
  for (const spray of await listSprays(lawn.id, { limit: 100 })) {
    const since = new Set((await photosSince(spray)).map((photo) => photo.id));
    for (const id of ids)
      should(
        `/photos/${id}`,
        await (await fetch(`${server.url}/photos/${id}`)).text(),
        `href="/sprays/${spray.id}"`,
        since.has(id),
      );
  }
  return wrong;
}

beforeAll(async () => {
  server = await startServer();
  process.env['SWATHBOOK_DATA'] = server.dataFolder;
  const made = await drawnLawn();
  lawn = made.lawn;
  plots = made;
  trialId = await createTrial(lawn.id, {
    name: 'Iron on one strip',
    question: '',
    design: 'paired-strips',
    blocks: 1,
    seed: 1,
    startsOn: '2026-05-01',
    photoDays: [1, 3],
    note: '',
    layout: {
      originM: [0, 0],
      swathM: null,
      passesPerStrip: null,
      bufferM: null,
      alleyM: null,
      blocksInOneRow: false,
      widthM: 4,
      lengthM: 5,
      diagonalM: 6.4,
      stakes: [],
    },
    treatments: ['Unsprayed', 'Iron'].map((name, i) => ({
      name,
      isCheck: i === 0,
      onSubplots: false,
      carrierLPerHa: null,
      carrierEnteredValue: null,
      carrierEnteredUnit: null,
      items: [],
    })),
    strips: [plots.check, plots.sprayed].map((plot, position) => ({
      label: plot.name,
      plot: { id: plot.id },
      cornersM: [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      treatment: position === 0 ? 'Unsprayed' : 'Iron',
      subTreatment: null,
      block: 0,
      position,
    })),
  } as Parameters<typeof createTrial>[1]);
  token = await shareTrial(trialId);
  photos = [];
  for (const shot of [
    { at: '2026-05-01T16:00' },
    { at: '2026-05-04T16:00', greening: 0.92 },
    { at: '2026-05-07T16:00', greening: 0.85, haze: true },
  ]) {
    const id = await upload(lawn, shot);
    photos.push(id);
    await outlineBoth(id, plots);
  }
}, 600_000);
afterAll(async () => {
  await stopScorers();
  await stopComparer();
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  await server?.stop();
});

test(
  'after every kind of edit every page answers, nothing stale is shown, and no two pages contradict each other',
  { timeout: 3_600_000 },
  async () => {
    const spray = async (at: string) =>
      createSpray(lawn.id, { state: 'done', startedAt: new Date(at) }, [], [{ plotId: plots.sprayed.id, areaM2: 10 }]);
    const hazed = () => photos[2] as string;
    let late = '';
    // prettier-ignore
    const edits: [string, () => Promise<unknown>][] = [
    ['photos only', async () => undefined],
    ['a spray logged after its photos', () => spray('2026-05-02T16:00:00Z')],
    ['a mark confirmed', async () => judgeMark((await marksOfPhotos(lawn.id, [hazed()]))[0]!.id, { state: 'confirmed', kind: 'burn' }, new Date())],
    ['an outline moved', async () => {
      const outline = await diary().outline.findFirstOrThrow({ where: { photoId: hazed(), plotId: plots.sprayed.id } });
      await diary().outline.update({ where: { id: outline.id }, data: { corners: [[362, 92], [590, 90], [590, 410], [360, 410]] } });
    }],
    ['all marks dismissed', async () => { for (const mark of await marksOfPhotos(lawn.id, [hazed()])) await judgeMark(mark.id, { state: 'dismissed' }, new Date()); }],
    ['a photo’s time corrected', () => correctPhoto(photos[1] as string, { viewpoint: 'step', takenLocal: '2026-05-05T02:30', note: 'clock was off' }, new Date('2026-06-01T00:00:00Z'))],
    ['a photo that arrives late, from before the spray', async () => { late = await upload(lawn, { at: '2026-05-02T09:00' }); await outlineBoth(late, plots); }],
    ['that photo in the bin', () => setBinned('photo', late, new Date())],
    ['and out of it', () => setBinned('photo', late, null)],
    ['a second spray', () => spray('2026-05-06T08:00:00Z')],
    ['a spray moved in time', async () => diary().spray.updateMany({ where: { startedAt: new Date('2026-05-06T08:00:00Z') }, data: { startedAt: new Date('2026-05-05T08:00:00Z') } })],
    ['a spray in the bin', async () => setBinned('spray', (await listSprays(lawn.id, { limit: 1 }))[0]!.id, new Date())],
    ['rain before a photo', () => addWeatherHours(lawn.id, [{ hourStart: new Date('2026-05-07T14:00:00Z'), rainMm: 4, source: 'test' }])],
    ['mown', () => createEvent(lawn.id, { kind: 'mowing', at: new Date(Date.parse('2026-05-07T16:00Z') - DAY), mowingHeightMm: 50, mowingHeightEnteredValue: 50, mowingHeightEnteredUnit: 'mm', bladeSharpened: false } as Parameters<typeof createEvent>[1], [])],
    ['a plot renamed', async () => { const plot = (await listPlots(lawn.id)).find((one) => one.id === plots.sprayed.id)!; await updatePlot(plot.id, { ...plot, name: 'Along the hedge' }); }],
    ['the lawn’s place put right', async () => { const { id, ...facts } = (await listLawns())[0]!; await updateLawn(id, { ...facts, latitudeDeg: 44, longitudeDeg: 12 }); }],
    ['another viewpoint’s name', () => correctPhoto(photos[2] as string, { viewpoint: 'gate', takenLocal: '2026-05-07T16:00', note: '' }, new Date('2026-06-01T00:00:00Z'))],
  ];
    for (const [name, edit] of edits) {
      await edit();
      expect(await walk(name)).toEqual([]);
    }
  },
);
