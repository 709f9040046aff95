import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { createHash } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { printPath } from '@/lib/darkroom/prints';
import { photoPath } from '@/lib/darkroom/shelf';
import {
  analyseTables,
  copyLawnRows,
  copyPhotoRows,
  createBareProduct,
  createMarkRows,
  createMowingRows,
  createSprayRows,
  settlePhotoRows,
  type BulkPhoto,
} from '@/lib/diary/bulk-rows';
import { createLawn, listLawns } from '@/lib/diary/lawns';
import { listEvents } from '@/lib/diary/lawn-events';
import { listPhotos } from '@/lib/diary/photos';
import { createPlot, listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { listTrials } from '@/lib/diary/trials';
import { listViewpoints } from '@/lib/diary/viewpoints';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { dataFolder } from '@/lib/forms/environment';
import { standOf } from '../photos/stand-of';
import { seededRandom } from '@/lib/stats/random';
import { judgeMark } from '../photos/marks';
import { outlinePlots } from '../photos/outline-plots';
import { seedLoadPlan, seedLoadTrial } from './seed-load-trial';
import { takePhoto } from '../photos/take-photo';

export interface LoadSize {
  readonly photos: number;
  readonly sprays: number;
  readonly weatherYears: number;
  /** Noon of its last day; 1 October 2026 unless told. */
  readonly until?: Date;
  /** With a trial of its own photos, the same in a diary of any size, and a person's word on some marks. */
  readonly withTrial?: boolean;
  /** So many lawns: pages are measured on the first, which has half of the photos where there are others; one unless told. */
  readonly lawns?: number;
  /** Only the photo that is measured has its file: pages ask for no other. */
  readonly bare?: boolean;
}

const othersOf = ({ lawns = 1 }: LoadSize): number => lawns - 1;
const photosOfOther = (size: LoadSize): number =>
  othersOf(size) === 0 ? 0 : Math.floor(size.photos / 2 / othersOf(size));
const photosOfFirst = (size: LoadSize): number => size.photos - othersOf(size) * photosOfOther(size);

export interface LoadedDiary {
  readonly plotId: string;
  readonly viewpointId: string;
  readonly photoId: string;
  readonly sprayId: string;
  readonly markId: string;
  readonly planId: string;
  readonly productId: string;
  readonly eventId: string;
  /** Empty without a trial. */
  readonly trialId: string;
  readonly trialPhotoId: string;
  readonly trialPlotId: string;
  /** When its newest photo was taken. */
  readonly newest: Date;
}

const usualLastDay = Date.UTC(2026, 9, 1, 12);
/** One photo of so many has a mark. */
const MARK_EVERY = 25;
/** A person says something of one mark of so many. */
const VERDICT_EVERY = 200;
const name = (kind: string, index: number) => `load${kind}${String(index).padStart(12, '0')}`;

/** A JPEG with a comment put in behind its first marker: another file, the same picture (ITU-T T.81 B.2.4.5). */
function withComment(jpeg: Buffer, text: string): Buffer {
  const comment = Buffer.from(text);
  const head = Buffer.from([0xff, 0xfe, 0, 0]);
  head.writeUInt16BE(comment.length + 2, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, comment, jpeg.subarray(2)]);
}

/**
 * Fills an empty, migrated data folder with a diary of this size: one photo is really taken in, outlined and measured,
 * and then copied under other names and days, readings with their blocks included; each copy has its own file and small
 * print.
 */
export async function seedLoad(size: LoadSize, jpeg: Buffer, progress: (words: string) => void): Promise<LoadedDiary> {
  const lastDay = size.until?.getTime() ?? usualLastDay;
  const random = seededRandom('load');
  const lawn = await createLawn({
    name: 'A large lawn',
    timeZone: 'Europe/Rome',
    unitSystem: 'metric',
    latitudeDeg: 45,
    longitudeDeg: 9,
    waterChlorinated: false,
    note: '',
    place: '',
    grass: '',
  });
  const plots = await Promise.all(
    ['A', 'B', 'C'].map((plot, index) =>
      createPlot(lawn.id, {
        name: plot,
        isCheck: index === 0,
        polygonM: null,
        areaM2: 10,
        areaEnteredValue: null,
        areaEnteredUnit: null,
        note: '',
      }),
    ),
  );
  const productId = await createBareProduct('Iron salt');

  // Photos reach back in even steps, 500 a year and 20 years at most: beyond that the diary gets denser, not longer.
  const count = photosOfFirst(size);
  const seasonDays = Math.min(count / 500, 20) * 365;
  const at = (share: number) => new Date(lastDay - share * seasonDays * DAY_MS);
  const sprays = Array.from({ length: size.sprays }, (_, index) => ({
    id: name('spray', index),
    startedAt: at((index + 0.5) / size.sprays),
    productId,
    plotIds: plots.slice(1).map((plot) => plot.id),
    areaM2: 10,
  }));
  await createSprayRows(lawn.id, [
    ...sprays,
    {
      id: name('plan', 0),
      startedAt: new Date(lastDay + DAY_MS),
      productId,
      plotIds: plots.slice(1).map((plot) => plot.id),
      areaM2: 10,
      isPlan: true,
    },
  ]);
  await createMowingRows(
    lawn.id,
    Array.from({ length: 2 * size.sprays }, (_, index) => at((index + 0.3) / (2 * size.sprays))),
  );
  progress(`${size.sprays} sprays, ${2 * size.sprays} mowings`);

  const photos = await seedPhotos(
    {
      kind: 'photo',
      lawnId: lawn.id,
      viewpointName: 'From the step',
      jpeg,
      plotIds: plots.map((plot) => plot.id),
      times: Array.from({ length: count }, (_, index) => at(index / count)),
      hasFile: (index) => size.bare !== true || index === Math.floor(count / 2),
    },
    random,
    progress,
  );
  const marked = photos.slice(1).filter((_, index) => index % MARK_EVERY === 0);
  const marks = marked.map((photoId, index) => ({
    id: name('mark', index),
    photoId,
    plotId: plots.at(-1)?.id ?? '',
    acrossShare: (index % 7) / 7,
    alongShare: (index % 11) / 11,
  }));
  await createMarkRows(marks);
  progress(`${count} photos, ${marked.length} with a mark`);
  await seedOtherLawns(lawn.id, size);
  if (othersOf(size) > 0) progress(`${othersOf(size)} more lawns with ${photosOfOther(size)} photos each`);
  if (size.withTrial) {
    const begins = new Date(lastDay - 20 * DAY_MS);
    const trial = await seedLoadTrial(lawn.id, productId, begins);
    const days = [20, 15, 14, 10, 7, 4, 3, 2, 1, 0, -1, -2];
    await seedPhotos(
      {
        kind: 'trialphoto',
        lawnId: lawn.id,
        viewpointName: 'The trial',
        jpeg: withComment(jpeg, 'trial'),
        plotIds: trial.plotIds,
        hasFile: () => true,
        times: days.map((day) => new Date(begins.getTime() + (day - 0.1) * DAY_MS)),
      },
      random,
      () => {},
    );
    for (let index = VERDICT_EVERY / 2; index < marks.length; index += VERDICT_EVERY)
      await judgeMark(
        marks[index]!.id,
        { state: index % (2 * VERDICT_EVERY) < VERDICT_EVERY ? 'confirmed' : 'dismissed' },
        new Date(lastDay),
      );
    await seedLoadPlan(
      lawn.id,
      name('plan', 0),
      productId,
      plots.slice(1).map((plot) => plot.id),
      new Date(lastDay + DAY_MS).toISOString().slice(0, 16),
    );
    progress('a trial and a plan');
  }

  const hours = Math.round(size.weatherYears * 365.25 * 24);
  const rows = Array.from({ length: hours }, (_, index) => {
    const hourStart = new Date(lastDay - (index + 1) * HOUR_MS);
    const warm =
      Math.sin(((hourStart.getUTCHours() - 8) / 24) * 2 * Math.PI) * 6 +
      Math.sin(((hourStart.getTime() / DAY_MS - 100) / 365.25) * 2 * Math.PI) * 10;
    return {
      hourStart,
      airTempC: Math.round((12 + warm) * 10) / 10,
      relHumidityPercent: 60,
      windMPerS: 2,
      windHeightM: 2,
      rainMm: index % 53 === 0 ? 1 : 0,
      solarWPerM2: Math.max(0, warm * 30),
      source: 'load',
    };
  });
  await addWeatherHours(lawn.id, rows);
  progress(`${hours} weather hours`);
  await analyseTables();
  return loadedDiary(size);
}

/** Each of the other lawns has a stretch of the first one's photos and sprays. */
async function seedOtherLawns(lawnId: string, size: LoadSize): Promise<void> {
  const [others, each] = [othersOf(size), photosOfOther(size)];
  const sprays = Math.floor(size.sprays / Math.max(1, others));
  const stretch = (kind: string, lawn: number, count: number, all: number): readonly [string, string] => {
    // The first of all is a real one, under a name of its own.
    const from = 1 + ((lawn * count) % Math.max(1, all - count - 1));
    return [name(kind, from), name(kind, from + count - 1)];
  };
  await copyLawnRows(lawnId, others, (lawn) => ({
    photos: stretch('photo', lawn, each, photosOfFirst(size)),
    sprays: stretch('spray', lawn, sprays, size.sprays),
  }));
}

interface PhotoSeries {
  readonly kind: string;
  readonly lawnId: string;
  readonly viewpointName: string;
  readonly jpeg: Buffer;
  readonly plotIds: readonly string[];
  readonly hasFile: (index: number) => boolean;
  /** Newest first. */
  readonly times: readonly Date[];
}

/** One photo really taken in, outlined and measured, and copies of it. @returns their names, the real one's first */
async function seedPhotos(
  { kind, lawnId, viewpointName, jpeg, plotIds, times, hasFile }: PhotoSeries,
  random: ReturnType<typeof seededRandom>,
  progress: (words: string) => void,
): Promise<string[]> {
  const folder = dataFolder();
  const at = times[0] as Date;
  const first = await takePhoto(new Blob([new Uint8Array(jpeg)]).stream(), {
    lawnId,
    fileName: 'load.jpg',
    viewpointName,
    modified: at,
    now: at,
  });
  if (!first.ok) throw new Error(first.message);
  const width = Math.floor(390 / plotIds.length);
  const outlined = await outlinePlots(
    first.photoId,
    plotIds.map((plotId, index) => ({
      plotId,
      corners: [
        [10 + index * width, 20],
        [width + index * width, 20],
        [width + index * width, 280],
        [10 + index * width, 280],
      ],
    })),
  );
  if (!outlined.ok) throw new Error(outlined.message);

  const small = await readFile(printPath(folder, createHash('sha256').update(jpeg).digest('hex'), '320.jpg'));
  const copies: BulkPhoto[] = [];
  for (let index = 1; index < times.length; index++) {
    const bytes = withComment(jpeg, `copy ${index}`);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    const files = [
      [photoPath(folder, sha256, 'jpeg'), bytes],
      [printPath(folder, sha256, '320.jpg'), small],
    ] as const;
    for (const [file, content] of hasFile(index) ? files : []) {
      await mkdir(path.dirname(file), { recursive: true });
      await writeFile(file, content);
    }
    copies.push({
      id: name(kind, index),
      sha256,
      bytes: bytes.length,
      fileName: `load-${index}.jpg`,
      takenAt: times[index] as Date,
    });
    if (index % 2000 === 0) progress(`${index} photo files`);
  }
  await copyPhotoRows(first.photoId, copies, () => 0.01 * random.normal());
  const all = [first.photoId, ...copies.map((copy) => copy.id)];
  for (let at = 0; at < all.length; at += 500) {
    const stands = await standOf(lawnId, all.slice(at, at + 500));
    await settlePhotoRows(
      [...stands.values()].map(({ state, pairing, wanted }) => ({
        id: state.id,
        readingsKey: wanted.readings,
        comparisonKey: wanted.comparison,
        changes: pairing.groups.flatMap(({ baseline, check, plots }) =>
          plots.flatMap(({ after }) =>
            check && after.plotId !== check.plotId
              ? [
                  {
                    baselinePhotoId: baseline.id,
                    plotId: after.plotId,
                    checkPlotId: check.plotId,
                    difference: 0.01 * random.normal(),
                  },
                ]
              : [],
          ),
        ),
      })),
    );
  }
  return all;
}

/**
 * The places in a filled diary that pages are measured at: its lawn's first treated plot, its viewpoint, the photo and
 * the spray in its middle.
 */
export async function loadedDiary(size: LoadSize): Promise<LoadedDiary> {
  const [lawn] = await listLawns();
  if (lawn === undefined) throw new Error('expected a filled diary, found an empty one');
  const [plots, viewpoints, trials, [newest], events] = await Promise.all([
    listPlots(lawn.id),
    listViewpoints(lawn.id),
    listTrials(lawn.id),
    listPhotos(lawn.id, { limit: 1 }),
    listEvents(lawn.id, { limit: 1 }),
  ]);
  const own = plots.filter((plot) => /^[ABC]$/.test(plot.name));
  return {
    plotId: own.at(-1)?.id ?? '',
    viewpointId: viewpoints.find((viewpoint) => viewpoint.name === 'From the step')?.id ?? '',
    photoId: name('photo', Math.floor(photosOfFirst(size) / 2)),
    sprayId: name('spray', Math.floor(size.sprays / 2)),
    markId: name('mark', Math.floor((photosOfFirst(size) - 1) / MARK_EVERY / 2)),
    planId: name('plan', 0),
    productId: (await listProducts())[0]?.id ?? '',
    eventId: events[0]?.id ?? '',
    trialId: trials[0]?.id ?? '',
    trialPhotoId: trials.length === 0 ? '' : name('trialphoto', 5),
    trialPlotId: trials[0]?.plots[0]?.plotId ?? '',
    newest: newest?.takenAt ?? new Date(0),
  };
}
