import 'server-only';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { readArchive } from '../../archive/read';
import { ArchiveRefused } from '../../archive/refused';
import { decodePhoto } from '../../darkroom/decode';
import { readExif } from '../../darkroom/exif';
import { damage, soundPictures } from '../../darkroom/fuzz-photos';
import { greennessMapPng } from '../../darkroom/prints';
import { PhotoRefused } from '../../darkroom/refused';
import { storeUpload } from '../../darkroom/shelf';
import { closeDiary } from '../../diary/client';
import { applyMigrations } from '../../diary/migrate';
import { parseArchiveManifest } from '../../forms/archive-manifest';
import { readDiaryQuery } from '../../forms/queries/diary-query';
import { parseForm } from '../../forms/fields';
import { LawnForm, PlotForm, SprayerForm } from '../../forms/lawn-form';
import { parseOutlinesFile } from '../../forms/outlines-file';
import { OutlinesForm, PhotoFactsForm, UploadQuery } from '../../forms/photo-form';
import { readPhotosQuery } from '../../forms/queries/photos-query';
import { ProductForm } from '../../forms/product-form';
import { readSeasonQuery } from '../../forms/queries/season-query';
import { SprayForm } from '../../forms/spray-form';
import { readWeatherCsv } from '../../forms/weather/weather-csv';
import { previewWeatherCsv } from '../../forms/weather/weather-csv-preview';
import { seededRandom, type Random } from '../../stats/random';
import { stopScorers } from '../../darkroom/scorer';
import { seedLoad } from '../../work/keep/seed-load';
import { keepArchive } from '../../work/keep/keep-archive';
import { restoreArchive } from '../../work/keep/restore-archive';
import { alterArchive } from './alter-archive';

/** What became of one case: taken, refused in words, or something that must not happen. */
export type Outcome =
  | { readonly was: 'taken' }
  | { readonly was: 'refused'; readonly sentence: string }
  | { readonly was: 'wrong'; readonly why: string };

/** A refusal says what was expected and what came, in one line. */
function isSentence(text: string): boolean {
  const ours = text.replaceAll(/'[^']*'/g, "''"); // what came may say anything
  return (
    text.length > 15 &&
    text.length < 600 &&
    !text.includes('\n') &&
    /expected/i.test(ours) &&
    !/undefined|\[object|NaN\b|^(?:Invalid|Too |Unrecogni)/.test(ours)
  );
}

const judged = (sentence: string): Outcome =>
  isSentence(sentence)
    ? { was: 'refused', sentence }
    : { was: 'wrong', why: `a refusal that is no sentence: ${sentence}` };

export interface FuzzCases {
  image(index: number): Promise<Outcome>;
  text(index: number): Promise<Outcome>;
  archive(index: number): Promise<Outcome>;
  end(): Promise<void>;
}

/** All cases of a seed; each is made from its own number, so that one can be run again alone. */
export async function openCases(seed: number): Promise<FuzzCases> {
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-fuzz-'));
  const pictures = await soundPictures('tests/pictures');
  let archive: Buffer | null = null;

  async function image(index: number): Promise<Outcome> {
    const random = seededRandom(`image ${seed} ${index}`);
    const base = pictures[index % pictures.length] as (typeof pictures)[number];
    const bytes = damage(
      base.bytes,
      (pictures[random.below(pictures.length)] as (typeof pictures)[number]).bytes,
      random,
    );
    try {
      let seen: Awaited<ReturnType<typeof decodePhoto>> | undefined;
      const stored = await storeUpload(folder, new Blob([new Uint8Array(bytes)]).stream(), {
        verify: async (file) => void (seen = await decodePhoto(file)),
      });
      const exif = await readExif(stored.path);
      if (seen === undefined || seen.pixels.data.length !== seen.pixels.width * seen.pixels.height * 3)
        return { was: 'wrong', why: 'taken without its pixels' };
      if (exif.make !== null && exif.make.length > 1000) return { was: 'wrong', why: 'EXIF text without end' };
      if (index % 20 === 0) await greennessMapPng(seen.pixels);
      await rm(stored.path, { force: true });
      return { was: 'taken' };
    } catch (error) {
      const left = (await readdir(path.join(folder, 'photos', 'tmp')).catch(() => [])).length;
      if (left > 0) return { was: 'wrong', why: `${left} unfinished file(s) left behind` };
      if (error instanceof PhotoRefused) return judged(error.message);
      return { was: 'wrong', why: error instanceof Error ? (error.stack ?? error.message) : String(error) };
    }
  }

  async function makeArchive(): Promise<Buffer> {
    const before = process.env['SWATHBOOK_DATA'];
    process.env['SWATHBOOK_DATA'] = path.join(folder, 'diary');
    await applyMigrations(path.join(folder, 'diary', 'diary.db'));
    await seedLoad(
      { photos: 2, sprays: 2, weatherYears: 0 },
      Buffer.from((pictures[0] as (typeof pictures)[number]).bytes),
      () => {},
    );
    await stopScorers();
    const kept = await keepArchive({ now: new Date('2026-05-01T00:00:00Z') });
    await closeDiary();
    if (before === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before;
    return readFileSync(kept.path);
  }

  async function archiveCase(random: Random): Promise<Outcome> {
    archive ??= await makeArchive();
    const file = path.join(folder, 'case.zip');
    writeFileSync(file, damage(archive, archive, random));
    const into = path.join(folder, 'unpacked');
    await rm(into, { recursive: true, force: true });
    try {
      await readArchive({ file, into, parseManifest: parseArchiveManifest });
      return { was: 'taken' };
    } catch (error) {
      return error instanceof ArchiveRefused
        ? judged(error.message)
        : { was: 'wrong', why: String((error as Error).stack) };
    }
  }

  async function text(index: number): Promise<Outcome> {
    const random = seededRandom(`text ${seed} ${index}`);
    try {
      const kind = index % 4;
      if (kind === 0) return await archiveCase(random);
      if (kind === 1) return await csvCase(random);
      if (kind === 2) return formCase(random);
      return queryCase(random);
    } catch (error) {
      return { was: 'wrong', why: error instanceof Error ? (error.stack ?? error.message) : String(error) };
    }
  }

  /** Every other one a diary whose database was altered but whose hashes fit, put through a whole restore. */
  async function archiveOf(index: number): Promise<Outcome> {
    const random = seededRandom(`archive ${seed} ${index}`);
    if (index % 2 === 0) return archiveCase(random);
    archive ??= await makeArchive();
    const altered = await alterArchive(archive, path.join(folder, 'altered'), random);
    const into = path.join(folder, 'restored');
    await rm(into, { recursive: true, force: true });
    try {
      await restoreArchive(altered.file, into, new Date());
      return altered.harmless ? { was: 'taken' } : { was: 'wrong', why: `taken after: ${altered.sql}` };
    } catch (error) {
      const left = (await readdir(into).catch(() => [])).length;
      if (left > 0) return { was: 'wrong', why: `${left} thing(s) left in the folder after: ${altered.sql}` };
      if (!(error instanceof ArchiveRefused))
        return { was: 'wrong', why: `${altered.sql}: ${String((error as Error).stack)}` };
      return altered.harmless
        ? { was: 'wrong', why: `refused after: ${altered.sql}: ${error.message}` }
        : judged(error.message);
    }
  }

  return {
    image,
    text,
    archive: archiveOf,
    end: async () => {
      await closeDiary();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

function soundCsv(random: Random): Buffer {
  const delimiter = [',', ';', '\t', '|'][random.below(4)] as string;
  const lines = [['Date', 'Temp (C)', 'RH (%)', 'Wind (m/s)', 'Rain (mm)'].join(delimiter)];
  for (let hour = 0; hour < 60; hour++) {
    const stamp = new Date(Date.UTC(2026, 2, 28, hour)).toISOString().slice(0, 16).replace('T', ' ');
    lines.push(
      [
        stamp,
        (12 + 5 * random.normal()).toFixed(1),
        String(40 + random.below(60)),
        (3 * random.next()).toFixed(2),
        '0',
      ].join(delimiter),
    );
  }
  const whole = lines.join(random.next() < 0.5 ? '\r\n' : '\n');
  const encoding = random.below(4);
  if (encoding === 0) return Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(whole, 'utf16le')]);
  if (encoding === 1) return Buffer.from(`\uFEFF${whole}`);
  return Buffer.from(whole.replace('(C)', '(°C)'), encoding === 2 ? 'latin1' : 'utf8');
}

async function csvCase(random: Random): Promise<Outcome> {
  const bytes = damage(soundCsv(random), soundCsv(random), random);
  const preview = previewWeatherCsv(bytes, false, { timeZone: 'Europe/Rome', windHeightM: 2 });
  if (!preview.ok) return judged(preview.sentence);
  const read = await readWeatherCsv([bytes], preview.mapping);
  if (!read.ok) return judged(read.sentence);
  const off = read.hours.find((hour) =>
    Object.values(hour).some((value) => typeof value === 'number' && !Number.isFinite(value)),
  );
  if (off !== undefined) return { was: 'wrong', why: `an hour with a number that is none: ${JSON.stringify(off)}` };
  const silent = read.bad.find((row) => row.reason.length < 10);
  return silent === undefined
    ? { was: 'taken' }
    : { was: 'wrong', why: `line ${silent.line} left out without a reason` };
}

// prettier-ignore
const formFields: Readonly<Record<string, readonly string[]>> = {
  spray: ['startedLocal', 'endedLocal', 'sprayerId', 'plotIds', 'items.0.productId', 'items.0.rate.value', 'items.0.rate.unit', 'carrier.value', 'carrier.unit', 'measuredPh', 'airTemp.value', 'airTemp.unit', 'note'],
  lawn: ['name', 'place', 'timeZone', 'unitSystem', 'latitudeDeg', 'longitudeDeg', 'elevationM', 'mowingHeight.value', 'mowingHeight.unit', 'waterPh', 'note'],
  plot: ['name', 'isCheck', 'length.value', 'length.unit', 'width.value', 'width.unit', 'area.value', 'area.unit', 'note'],
  sprayer: ['name', 'tank.value', 'tank.unit', 'carrier.value', 'carrier.unit', 'swath.value', 'swath.unit'],
  product: ['name', 'form', 'role', 'densityKgPerL', 'density.value', 'density.unit', 'nUreaPercent', 'fePercent', 'labelRate.value', 'labelRate.unit', 'cautions'],
  facts: ['viewpoint', 'takenLocal', 'note'],
  outlines: ['outlines'],
};
const schemas = {
  spray: SprayForm,
  lawn: LawnForm,
  plot: PlotForm,
  sprayer: SprayerForm,
  product: ProductForm,
  facts: PhotoFactsForm,
  outlines: OutlinesForm,
};
const strange = [
  '',
  ' ',
  '0',
  '-1',
  '1e999',
  '-0',
  'NaN',
  'Infinity',
  '1,5',
  '1.234,5',
  '٣',
  '１２',
  '0x10',
  '1e-400',
  '9'.repeat(400),
  'x'.repeat(5000),
  '\u0000',
  '\uD800',
  '‮abc',
  '<script>alert(1)</script>',
  "'; DROP TABLE Photo; --",
  '../../etc/passwd',
  '__proto__',
  'constructor',
  '2026-02-30T25:61',
  '2026-05-01T07:30',
  '0000-00-00T00:00',
  'America/Denver',
  'Mars/Base',
  'metric',
  'liquid',
  'g/100m2',
  'm',
  'cmaaaaaaaaaaaaaaaaaaaaaaa',
  '[]',
  '{}',
  'null',
  '[{"plotId":"cmaaaaaaaaaaaaaaaaaaaaaaa","corners":[[0,0],[1,0],[1,1e308],[0,1]]}]',
  '[[[[[[',
  '{"plots":[{"id":"A","check":true,"corners":[[0,0],[10,0],[10,10],[0,10]]}]}',
  '100',
  '7.5',
  'yes',
  'on',
];
const strangeNames = [
  '__proto__.x',
  'constructor.prototype.y',
  'items.__proto__.z',
  'items.999999.productId',
  'items.-1.rate.value',
  'note.deep.deeper',
  'rate',
  '.',
  '..',
  'items..x',
  'toString',
  'hasOwnProperty.call',
];

function formCase(random: Random): Outcome {
  const names = Object.keys(schemas) as (keyof typeof schemas)[];
  const which = names[random.below(names.length)] as keyof typeof schemas;
  const data = new FormData();
  const pick = <T>(list: readonly T[]) => list[random.below(list.length)] as T;
  for (const field of formFields[which] as readonly string[])
    if (random.next() < 0.85) for (let i = 0; i <= random.below(2); i++) data.append(field, pick(strange));
  for (let i = 0; i < random.below(3); i++) data.append(pick(strangeNames), pick(strange));
  const parsed = parseForm(schemas[which] as Parameters<typeof parseForm>[0], data);
  if (
    Object.hasOwn(Object.prototype, 'x') ||
    Object.hasOwn(Object.prototype, 'y') ||
    Object.hasOwn(Object.prototype, 'z')
  )
    return { was: 'wrong', why: 'a form changed every object' };
  if (parsed.ok) return { was: 'taken' };
  if (
    Object.keys(parsed.errors).length > 1
      ? !/^\d+ entries need another look/.test(parsed.message)
      : !isSentence(parsed.message)
  )
    return { was: 'wrong', why: `${which} answers '${parsed.message}'` };
  const dull = Object.entries(parsed.errors).find(([, sentence]) => !isSentence(sentence));
  return dull === undefined
    ? { was: 'refused', sentence: parsed.message }
    : { was: 'wrong', why: `${which}: field '${dull[0]}' answers '${dull[1]}'` };
}

function queryCase(random: Random): Outcome {
  const pick = () => strange[random.below(strange.length)] as string;
  const search = {
    viewpoint: pick(),
    before: pick(),
    after: pick(),
    show: pick(),
    plot: [pick(), pick()],
    from: pick(),
    to: pick(),
  };
  const season = readSeasonQuery(search);
  if (Number.isNaN(season.from?.getTime()) || Number.isNaN(season.to?.getTime()))
    return { was: 'wrong', why: 'a season without dates' };
  const diary = readDiaryQuery(search);
  if (diary.before !== undefined && Number.isNaN(diary.before.getTime()))
    return { was: 'wrong', why: 'a diary page before no date' };
  readPhotosQuery(search);
  const upload = UploadQuery.safeParse({ lawn: pick(), name: pick(), viewpoint: pick(), modified: pick() });
  if (upload.success && /[\p{Cc}/\\]/u.test(upload.data.name))
    return { was: 'wrong', why: 'a file name with control characters or slashes' };
  const file = damage(
    Buffer.from(
      '{"plots":[{"id":"A","check":true,"corners":[[0,0],[10,0],[10,10],[0,10]]}],"greyCard":{"before":[[0,0],[1,0],[1,1],[0,1]]}}',
    ),
    Buffer.from('[[[[1e999]]]]'),
    random,
  );
  const outlines = parseOutlinesFile(Buffer.from(file).toString('utf8'));
  return outlines.ok ? { was: 'taken' } : judged(outlines.sentence);
}
