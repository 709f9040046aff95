import 'server-only';
import { HOUR_MS } from '@/lib/units/time';
import { findLawn } from '@/lib/diary/lawns';
import { countHoursBetween, writeImportHours } from '@/lib/diary/weather-hours';
import {
  closeImport,
  findImport,
  listImports,
  openImport,
  removeImport,
  type WeatherImport,
} from '@/lib/diary/weather-imports';
import { BucketTrouble } from '@/lib/darkroom/bucket';
import { claim, forget, heardOf, tell } from '@/lib/diary/told-facts';
import { dataFolder } from '@/lib/forms/environment';
import { readWeatherCsv, type BadRow, type WeatherCsvResult } from '@/lib/forms/weather/weather-csv';
import type { WeatherCsvMapping } from '@/lib/forms/weather/weather-csv-mapping';
import { previewWeatherCsv, type WeatherCsvPreview } from '@/lib/forms/weather/weather-csv-preview';
import { headOfWaitingFile, readWaitingFile, type WaitingFile } from '@/lib/station/waiting-file';
import { attachWeather } from './spray-weather';
import { dropWaiting, findWaiting, listWaiting, shareWaiting, takeWaiting } from './waiting-weather';

const previewBytes = 256 * 1024;
const badRowsTold = 100;

export type Kept = { ok: true; fileId: string } | { ok: false; status: 400 | 404 | 507; message: string };

/** Takes an upload in; nothing reaches the diary yet. */
export async function keepWeatherFile(
  source: ReadableStream<Uint8Array> | AsyncIterable<Uint8Array>,
  arrival: { lawnId: string; name: string },
): Promise<Kept> {
  if (!(await findLawn(arrival.lawnId)))
    return {
      ok: false,
      status: 404,
      message: 'Lawn: expected a lawn of this diary, got one that is not there any more.',
    };
  const kept = await takeWaiting(arrival.name, source);
  if (!kept.ok) return { ok: false, status: kept.full ? 507 : 400, message: kept.sentence };
  const preview = await previewOf(kept, 'UTC');
  try {
    if (preview.ok) {
      await shareWaiting(kept, new Date());
      return { ok: true, fileId: kept.id };
    }
  } catch (error) {
    if (!(error instanceof BucketTrouble)) throw error;
    await dropWaiting(kept.id).catch(() => undefined);
    return { ok: false, status: 507, message: error.message };
  }
  await dropWaiting(kept.id);
  return { ok: false, status: 400, message: preview.sentence };
}

async function previewOf(file: WaitingFile, timeZone: string) {
  const head = await headOfWaitingFile(dataFolder(), file.id, previewBytes);
  return previewWeatherCsv(head, file.bytes > head.byteLength, { timeZone, windHeightM: null });
}

/** What a waiting file seems to hold, or null when it is gone. */
export async function previewWeatherFile(
  fileId: string,
  timeZone: string,
): Promise<{ file: WaitingFile; preview: WeatherCsvPreview } | null> {
  const file = await findWaiting(fileId);
  if (!file) return null;
  const preview = await previewOf(file, timeZone);
  return preview.ok ? { file, preview } : null;
}

/** Files that were uploaded and neither imported nor let go. */
export async function listWeatherFiles(): Promise<WaitingFile[]> {
  return listWaiting();
}

export async function dropWeatherFile(fileId: string): Promise<void> {
  if (await findWaiting(fileId)) await dropWaiting(fileId);
}

/** What reading a whole file found. Nothing of it is in the diary until it is imported. */
export interface FileFound {
  ok: true;
  rowsRead: number;
  hours: number;
  firstUtcMs: number;
  lastUtcMs: number;
  /** Hours between first and last that no row covers. */
  hoursMissing: number;
  bad: readonly BadRow[];
  badCount: number;
  duplicateRows: number;
  repeatedHourRows: number;
  /** Hours of the diary in the same span, from any source. */
  hoursKnown: number;
}

export type FileProgress = { stage: 'reading' | 'writing'; done: number; of: number | null };

async function readWhole(
  fileId: string,
  mapping: unknown,
  onProgress: (progress: FileProgress) => void,
): Promise<{ file: WaitingFile; result: WeatherCsvResult } | { ok: false; message: string }> {
  const file = await findWaiting(fileId);
  if (!file)
    return {
      ok: false,
      message: 'Weather file: expected one that was uploaded, got one that is not there any more; choose it again.',
    };
  const result = await readWeatherCsv(readWaitingFile(dataFolder(), fileId), mapping, (rows) =>
    onProgress({ stage: 'reading', done: rows, of: null }),
  );
  return result.ok ? { file, result } : { ok: false, message: result.sentence };
}

const firstOf = (result: WeatherCsvResult) => result.hours[0]?.hourStartUtcMs ?? 0;
const lastOf = (result: WeatherCsvResult) => result.hours.at(-1)?.hourStartUtcMs ?? 0;

async function found(lawnId: string, result: WeatherCsvResult): Promise<FileFound> {
  const [firstUtcMs, lastUtcMs] = [firstOf(result), lastOf(result)];
  return {
    ok: true,
    rowsRead: result.rowsRead,
    hours: result.hours.length,
    firstUtcMs,
    lastUtcMs,
    hoursMissing: (lastUtcMs - firstUtcMs) / HOUR_MS + 1 - result.hours.length,
    bad: result.bad.slice(0, badRowsTold),
    badCount: result.badCount,
    duplicateRows: result.duplicateRows,
    repeatedHourRows: result.repeatedHourRows,
    hoursKnown: await countHoursBetween(lawnId, new Date(firstUtcMs), new Date(lastUtcMs + HOUR_MS)),
  };
}

/** Reads a waiting file through and writes nothing. */
export async function checkWeatherFile(
  lawnId: string,
  fileId: string,
  mapping: unknown,
  onProgress: (progress: FileProgress) => void,
): Promise<FileFound | { ok: false; message: string }> {
  const read = await readWhole(fileId, mapping, onProgress);
  return 'result' in read ? found(lawnId, read.result) : read;
}

/**
 * A file that is being taken in, and an import that is being written, as the processes that serve this diary tell each
 * other: who is silent for longer has stopped, and the import is broken off.
 */
const TELL_MS = 5_000;
const SILENT_MS = 60_000;
const takingIn = (fileId: string) => `weather file ${fileId}`;
const writing = (importId: string) => `weather import ${importId}`;
const RUNNING = { state: 'running' } as const;
const isUnderWay = async (fact: string) => ((await heardOf(fact))?.ageMs ?? Infinity) < SILENT_MS;

/**
 * Reads a waiting file and writes its hours into the diary; sprays take their weather from them. The file is then let
 * go.
 */
export async function importWeatherFile(
  lawnId: string,
  fileId: string,
  mapping: unknown,
  onProgress: (progress: FileProgress) => void,
): Promise<(FileFound & { importId: string; sprays: number }) | { ok: false; message: string }> {
  if (!(await claim(takingIn(fileId), RUNNING, SILENT_MS)))
    return { ok: false, message: 'Weather file: it is being imported already.' };
  const told = [takingIn(fileId)];
  let telling: Promise<unknown> = Promise.resolve();
  const timer = setInterval(() => (telling = Promise.allSettled(told.map((fact) => tell(fact, RUNNING)))), TELL_MS);
  let importId: string | undefined;
  try {
    if (!(await findLawn(lawnId)))
      return { ok: false, message: 'Lawn: expected a lawn of this diary, got one that is not there any more.' };
    const read = await readWhole(fileId, mapping, onProgress);
    if (!('result' in read)) return read;
    const { file, result } = read;
    const facts = await found(lawnId, result);
    const opened = await openImport(lawnId, {
      fileName: file.name,
      hours: 0,
      firstHour: new Date(facts.firstUtcMs),
      lastHour: new Date(facts.lastUtcMs),
      rowsRead: facts.rowsRead,
      badRows: facts.badCount,
      duplicateRows: facts.duplicateRows,
      mapping: mapping as WeatherCsvMapping, // readWeatherCsv has checked it
    });
    importId = opened.id;
    told.push(writing(opened.id));
    await tell(writing(opened.id), RUNNING);
    const written = await writeImportHours(
      { lawnId, layer: opened.layer, importId, source: file.name },
      result.hours,
      (done) => onProgress({ stage: 'writing', done, of: result.hours.length }),
    );
    await closeImport(importId, written);
    await dropWaiting(fileId);
    const sprays = await attachWeather(lawnId, new Date(facts.firstUtcMs), new Date(facts.lastUtcMs + HOUR_MS));
    return { ...facts, importId, sprays };
  } catch (error) {
    if (importId !== undefined) await removeImport(importId).catch(() => undefined); // what was written is taken back; the file still waits
    throw error;
  } finally {
    clearInterval(timer);
    await telling;
    for (const fact of told) await forget(fact).catch(() => undefined);
  }
}

/** The files taken in, newest first. `brokenOff`: the program was stopped while it wrote. */
export async function listWeatherImports(lawnId: string): Promise<(WeatherImport & { brokenOff: boolean })[]> {
  return Promise.all(
    (await listImports(lawnId)).map(async (entry) => ({
      ...entry,
      brokenOff: entry.state === 'writing' && !(await isUnderWay(writing(entry.id))),
    })),
  );
}

/** Removes a file's hours, exactly those, and lets sprays that leant on them look again. @returns a sentence */
export async function undoWeatherImport(lawnId: string, importId: string): Promise<{ ok: boolean; message: string }> {
  const entry = await findImport(importId);
  if (!entry || entry.lawnId !== lawnId)
    return { ok: false, message: 'Import: expected one of this lawn, got one that is not there any more.' };
  if (await isUnderWay(writing(importId)))
    return { ok: false, message: 'Import: it is still being written; wait until it is done.' };
  await removeImport(importId);
  if (entry.firstHour && entry.lastHour)
    await attachWeather(lawnId, entry.firstHour, new Date(entry.lastHour.getTime() + HOUR_MS));
  return { ok: true, message: `The ${entry.hours.toLocaleString('en-US')} hours of ${entry.fileName} are removed.` };
}
