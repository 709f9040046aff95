/**
 * `npm run bench:weather`: takes 20 years of hourly rows (175,320) into a diary of its own and reads a season of it,
 * beside the same with one year. Prints seconds and the ratio; nothing of it touches your diary.
 */
import { HOUR_MS } from '../../units/time';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';

const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-bench-'));
process.env['SWATHBOOK_DATA'] = scratch;

const { execFileSync } = await import('node:child_process');
execFileSync(process.execPath, ['lib/commands/run.mjs', 'migrate'], { env: process.env, stdio: 'inherit' });
const { closeDiary } = await import('@/lib/diary/client');
const { createLawn } = await import('@/lib/diary/lawns');
const { importWeatherFile, keepWeatherFile, previewWeatherFile, undoWeatherImport } =
  await import('@/lib/work/weather/take-weather-file');
const { seasonWeather } = await import('@/lib/work/weather/season-weather');

const lastYear = 2024;

/** Rows as a logger writes them, a megabyte at a time. */
async function* rows(years: number): AsyncGenerator<Uint8Array> {
  const encoder = new TextEncoder();
  let text = 'time,temperature (°C),humidity (%),wind (m/s),rain (mm),solar (W/m2),pressure station (hPa)\n';
  const end = Date.UTC(lastYear + 1, 0, 1);
  for (let at = Date.UTC(lastYear + 1 - years, 0, 1); at < end; at += HOUR_MS) {
    const hour = (at / HOUR_MS) % 24;
    const sun = Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI));
    const season = Math.cos(((at % (365.25 * 24 * HOUR_MS)) / (365.25 * 24 * HOUR_MS) - 0.55) * 2 * Math.PI);
    text += `${new Date(at).toISOString().slice(0, 16).replace('T', ' ')},${(10 + 9 * season + 6 * sun).toFixed(1)},${(85 - 40 * sun).toFixed(0)},${(1.5 + 2 * sun).toFixed(1)},${hour === 3 && (at / HOUR_MS) % 5 < 1 ? 1.2 : 0},${(800 * sun).toFixed(0)},${(1004.3).toFixed(1)}\n`;
    if (text.length > 1_000_000) {
      yield encoder.encode(text);
      text = '';
    }
  }
  yield encoder.encode(text);
}

async function lawnWith(years: number) {
  const lawn = await createLawn({
    name: `${years} years`,
    place: '',
    latitudeDeg: 45,
    longitudeDeg: 10,
    elevationM: 120,
    timeZone: 'Europe/Rome',
    unitSystem: 'metric',
    grass: '',
    mowingHeightMm: 60,
    waterChlorinated: false,
    note: '',
  });
  const kept = await keepWeatherFile(rows(years), { lawnId: lawn.id, name: `${years} years.csv` });
  if (!kept.ok) throw new Error(kept.message);
  const waiting = await previewWeatherFile(kept.fileId, 'UTC');
  if (!waiting) throw new Error('the file is gone');
  let told = 0;
  const started = performance.now();
  const taken = await importWeatherFile(lawn.id, kept.fileId, { ...waiting.preview.mapping, windHeightM: 2 }, () => {
    told += 1;
  });
  if (!taken.ok) throw new Error(taken.message);
  const seconds = (performance.now() - started) / 1000;
  console.log(
    `${taken.rowsRead.toLocaleString('en-US')} rows: ${taken.hours.toLocaleString('en-US')} hours imported in ${seconds.toFixed(1)} s, progress told ${told} times`,
  );
  return { lawn, importId: taken.importId };
}

const one = await lawnWith(1);
const twenty = await lawnWith(20);
const read = async (lawn: typeof one.lawn) => {
  const started = performance.now();
  await seasonWeather(lawn, lastYear, { baseC: 10, upperC: 30 }, new Date(Date.UTC(lastYear, 6, 1)));
  return performance.now() - started;
};
const median = (list: number[]) => list.sort((a, b) => a - b)[Math.floor(list.length / 2)] ?? 0;
const [ofOne, ofTwenty]: [number[], number[]] = [[], []];
for (let round = 0; round < 12; round += 1) {
  ofOne.push(await read(one.lawn));
  ofTwenty.push(await read(twenty.lawn));
}
console.log(
  `season ${lastYear}: ${median(ofOne).toFixed(0)} ms with one year in the diary, ${median(ofTwenty).toFixed(0)} ms with twenty: ratio ${(median(ofTwenty) / median(ofOne)).toFixed(2)}`,
);
const started = performance.now();
await undoWeatherImport(twenty.lawn.id, twenty.importId);
console.log(
  `twenty years undone in ${((performance.now() - started) / 1000).toFixed(1)} s; peak memory ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB`,
);
await closeDiary();
fs.rmSync(scratch, { recursive: true, force: true });
