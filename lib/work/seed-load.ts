import 'server-only';
import { DAY_MS, HOUR_MS } from '@/lib/units/time';
import { createHash } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { printPath } from '@/lib/darkroom/prints';
import { photoPath } from '@/lib/darkroom/shelf';
import { analyseTables, copyPhotoRows, createBareProduct, createMarkRows, createMowingRows, createSprayRows, settlePhotoRows, type BulkPhoto } from '@/lib/diary/bulk-rows';
import { createLawn, listLawns } from '@/lib/diary/lawns';
import { createPlot, listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { listViewpoints } from '@/lib/diary/viewpoints';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { dataFolder } from '@/lib/forms/environment';
import { standOf } from './worked-out';
import { seededRandom } from '@/lib/stats/random';
import { outlinePlots } from './outline-plots';
import { takePhoto } from './take-photo';

export interface LoadSize {
  readonly photos: number;
  readonly sprays: number;
  readonly weatherYears: number;
}

export interface LoadedDiary {
  readonly plotId: string;
  readonly viewpointId: string;
  readonly photoId: string;
  readonly sprayId: string;
  readonly markId: string;
  readonly planId: string;
  readonly productId: string;
}

const lastDay = Date.UTC(2026, 9, 1, 12);
/** One photo of so many has a mark. */
const MARK_EVERY = 25;
const name = (kind: string, index: number) => `load${kind}${String(index).padStart(12, '0')}`;

/** A JPEG with a comment put in behind its first marker: another file, the same picture (ITU-T T.81 B.2.4.5). */
function withComment(jpeg: Buffer, text: string): Buffer {
  const comment = Buffer.from(text);
  const head = Buffer.from([0xff, 0xfe, 0, 0]);
  head.writeUInt16BE(comment.length + 2, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, comment, jpeg.subarray(2)]);
}

/**
 * Fills an empty, migrated data folder with a diary of this size: one photo is really taken in, outlined and measured, and
 * then copied under other names and days, readings with their blocks included; each copy has its own file and small print.
 */
export async function seedLoad(size: LoadSize, jpeg: Buffer, progress: (words: string) => void): Promise<LoadedDiary> {
  const folder = dataFolder();
  const random = seededRandom('load');
  const nothing = { place: '', grass: '', elevationM: null, mowingHeightMm: null, mowingHeightEnteredValue: null, mowingHeightEnteredUnit: null, waterPh: null, waterAlkalinityMgPerLCaCO3: null, waterHardnessMgPerLCaCO3: null };
  const lawn = await createLawn({ name: 'A large lawn', timeZone: 'Europe/Rome', unitSystem: 'metric', latitudeDeg: 45, longitudeDeg: 9, waterChlorinated: false, note: '', ...nothing });
  const plots = await Promise.all(
    ['A', 'B', 'C'].map((plot, index) => createPlot(lawn.id, { name: plot, isCheck: index === 0, polygonM: null, areaM2: 10, areaEnteredValue: null, areaEnteredUnit: null, note: '' })),
  );
  const productId = await createBareProduct('Iron salt');

  // Photos reach back in even steps, 500 a year and 20 years at most: beyond that the diary gets denser, not longer.
  const seasonDays = Math.min(size.photos / 500, 20) * 365;
  const at = (share: number) => new Date(lastDay - share * seasonDays * DAY_MS);
  const sprays = Array.from({ length: size.sprays }, (_, index) => ({ id: name('spray', index), startedAt: at((index + 0.5) / size.sprays), productId, plotIds: plots.slice(1).map((plot) => plot.id), areaM2: 10 }));
  await createSprayRows(lawn.id, [...sprays, { id: name('plan', 0), startedAt: new Date(lastDay + DAY_MS), productId, plotIds: plots.slice(1).map((plot) => plot.id), areaM2: 10, isPlan: true }]);
  await createMowingRows(lawn.id, Array.from({ length: 2 * size.sprays }, (_, index) => at((index + 0.3) / (2 * size.sprays))));
  progress(`${size.sprays} sprays, ${2 * size.sprays} mowings`);

  const first = await takePhoto(new Blob([new Uint8Array(jpeg)]).stream(), { lawnId: lawn.id, fileName: 'load.jpg', viewpointName: 'From the step', modified: at(0), now: at(0) });
  if (!first.ok) throw new Error(first.message);
  const outlined = await outlinePlots(first.photoId, plots.map((plot, index) => ({ plotId: plot.id, corners: [[10 + index * 130, 20], [130 + index * 130, 20], [130 + index * 130, 280], [10 + index * 130, 280]] })));
  if (!outlined.ok) throw new Error(outlined.message);

  const small = await readFile(printPath(folder, createHash('sha256').update(jpeg).digest('hex'), '320.jpg'));
  const copies: BulkPhoto[] = [];
  for (let index = 1; index < size.photos; index++) {
    const bytes = withComment(jpeg, `copy ${index}`);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    for (const [file, content] of [[photoPath(folder, sha256, 'jpeg'), bytes], [printPath(folder, sha256, '320.jpg'), small]] as const) {
      await mkdir(path.dirname(file), { recursive: true });
      await writeFile(file, content);
    }
    const takenAt = at(index / size.photos);
    copies.push({ id: name('photo', index), sha256, bytes: bytes.length, fileName: `load-${index}.jpg`, takenAt });
    if (index % 2000 === 0) progress(`${index} photo files`);
  }
  await copyPhotoRows(first.photoId, copies, () => 0.01 * random.normal());
  const all = [first.photoId, ...copies.map((copy) => copy.id)];
  for (let at = 0; at < all.length; at += 500) {
    const stands = await standOf(lawn.id, all.slice(at, at + 500));
    await settlePhotoRows(
      [...stands.values()].map(({ state, pairing, wanted }) => ({
        id: state.id,
        readingsKey: wanted.readings,
        comparisonKey: wanted.comparison,
        changes: pairing.groups.flatMap(({ baseline, check, plots }) =>
          plots.flatMap(({ after }) => (check && after.plotId !== check.plotId ? [{ baselinePhotoId: baseline.id, plotId: after.plotId, checkPlotId: check.plotId, difference: 0.01 * random.normal() }] : [])),
        ),
      })),
    );
  }
  const marked = copies.filter((_, index) => index % MARK_EVERY === 0);
  await createMarkRows(marked.map((copy, index) => ({ id: name('mark', index), photoId: copy.id, plotId: plots.at(-1)?.id ?? '', acrossShare: (index % 7) / 7, alongShare: (index % 11) / 11 })));
  progress(`${size.photos} photos, ${marked.length} with a mark`);

  const hours = Math.round(size.weatherYears * 365.25 * 24);
  const rows = Array.from({ length: hours }, (_, index) => {
    const hourStart = new Date(lastDay - (index + 1) * HOUR_MS);
    const warm = Math.sin(((hourStart.getUTCHours() - 8) / 24) * 2 * Math.PI) * 6 + Math.sin(((hourStart.getTime() / DAY_MS - 100) / 365.25) * 2 * Math.PI) * 10;
    return { hourStart, airTempC: Math.round((12 + warm) * 10) / 10, relHumidityPercent: 60, windMPerS: 2, windHeightM: 2, rainMm: index % 53 === 0 ? 1 : 0, solarWPerM2: Math.max(0, warm * 30), source: 'load' };
  });
  await addWeatherHours(lawn.id, rows);
  progress(`${hours} weather hours`);
  await analyseTables();
  return loadedDiary(size);
}

/** The places in a filled diary that pages are measured at: its lawn's first treated plot, its viewpoint, the photo and the spray in its middle. */
export async function loadedDiary(size: LoadSize): Promise<LoadedDiary> {
  const [lawn] = await listLawns();
  if (lawn === undefined) throw new Error('expected a filled diary, found an empty one');
  const [plots, viewpoints] = [await listPlots(lawn.id), await listViewpoints(lawn.id)];
  return {
    plotId: plots.at(-1)?.id ?? '',
    viewpointId: viewpoints[0]?.id ?? '',
    photoId: name('photo', Math.floor(size.photos / 2)),
    sprayId: name('spray', Math.floor(size.sprays / 2)),
    markId: name('mark', Math.floor((size.photos - 1) / MARK_EVERY / 2)),
    planId: name('plan', 0),
    productId: (await listProducts())[0]?.id ?? '',
  };
}
