import fs from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { findSpray } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { listImports, openImport } from '@/lib/diary/weather-imports';
import { exportWeather } from '@/lib/work/weather/export-weather';
import {
  checkWeatherFile,
  importWeatherFile,
  keepWeatherFile,
  listWeatherImports,
  previewWeatherFile,
  undoWeatherImport,
} from '@/lib/work/weather/take-weather-file';
import { WEATHER_FIELDS } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { expectClose } from '../support/close';
import { useFreshDiary } from '../support/diary';
import { testLawn, testSpray } from '../support/test-lawn';

useFreshDiary();
const incoming = () => fs.readdirSync(path.join(process.env['SWATHBOOK_DATA'] ?? '', 'incoming'));

async function* bytes(text: string): AsyncGenerator<Uint8Array> {
  yield new TextEncoder().encode(text);
}
const quiet = () => undefined;
const from = (text: string) => new Date(Date.parse(text));

async function waiting(lawnId: string, text: string, zone = 'America/New_York') {
  const kept = await keepWeatherFile(bytes(text), { lawnId, name: 'logger.csv' });
  if (!kept.ok) throw new Error(kept.message);
  const found = await previewWeatherFile(kept.fileId, zone);
  if (!found) throw new Error('no preview');
  return { fileId: kept.fileId, mapping: { ...found.preview.mapping, windHeightM: 2 } };
}
async function imported(lawnId: string, text: string) {
  const { fileId, mapping } = await waiting(lawnId, text);
  const result = await importWeatherFile(lawnId, fileId, mapping, quiet);
  if (!result.ok) throw new Error(result.message);
  return result;
}

const day = (date: string, temp = 20): string =>
  `time,Air temperature (°C),Humidity (%),Wind (m/s),Rain (mm),Solar (W/m2)\n${Array.from({ length: 24 }, (_, hour) => `${date} ${String(hour).padStart(2, '0')}:00,${temp + hour / 10},55,2,0,${hour > 6 && hour < 20 ? 400 : 0}`).join('\n')}\n`;

describe('a logger’s file', () => {
  test('nothing reaches the diary by upload or check, a bad row is told by its line, the rest comes in', async () => {
    const lawn = await testLawn();
    const text = `${day('2026-05-01')}2026-05-02 00:00,warm,55,2,0,0\n2026-05-41 01:00,12,55,2,0,0\n`;
    const { fileId, mapping } = await waiting(lawn.id, text);
    const checked = await checkWeatherFile(lawn.id, fileId, mapping, quiet);
    expect(checked).toMatchObject({ ok: true, hours: 25, rowsRead: 26, badCount: 2, hoursKnown: 0 });
    expect(checked.ok && checked.bad.map((row) => row.line)).toEqual([26, 27]);
    expect(await weatherHoursBetween(lawn.id, from('2026-05-01'), from('2026-05-04'))).toEqual([]);
    const taken = await importWeatherFile(lawn.id, fileId, mapping, quiet);
    expect(taken).toMatchObject({ ok: true, hours: 25 });
    const [first] = await weatherHoursBetween(lawn.id, from('2026-05-01'), from('2026-05-04'));
    expect(first).toMatchObject({
      hourStartUtcMs: Date.parse('2026-05-01T04:00Z'),
      airTempC: 20,
      windHeightM: 2,
      source: 'logger.csv',
    });
    expect(incoming()).toEqual([]); // the file is let go once it is in
  });
  test('a file that is no table is refused in one sentence and leaves nothing behind', async () => {
    const lawn = await testLawn();
    for (const text of ['', 'just words\nand more\n', 'a,b\nx,y\n']) {
      const kept = await keepWeatherFile(bytes(text), { lawnId: lawn.id, name: 'x.csv' });
      expect(kept).toMatchObject({ ok: false, status: 400 });
      expect(kept.ok ? '' : kept.message).toMatch(/^Weather file: expected .+, got .+\.$/);
    }
    expect(incoming()).toEqual([]);
  });
  test('a mapping made up by hand is refused, and a file asked for by a path is not found', async () => {
    const lawn = await testLawn();
    const { fileId, mapping } = await waiting(lawn.id, day('2026-05-01'));
    expect(
      await importWeatherFile(
        lawn.id,
        fileId,
        { ...mapping, columns: [{ index: 1, field: 'airTempC', unit: 'furlong' }] },
        quiet,
      ),
    ).toMatchObject({ ok: false });
    expect(await importWeatherFile(lawn.id, '../diary', mapping, quiet)).toMatchObject({
      ok: false,
      message: expect.stringContaining('not there any more'),
    });
    expect(await listImports(lawn.id)).toEqual([]);
  });
  test('the day clocks go back has 25 hours and the day they go forward 23, none lost or doubled', async () => {
    const lawn = await testLawn();
    // US rule: 2026-03-08 2:00 EST → 3:00 EDT; 2026-11-01 2:00 EDT → 1:00 EST (Energy Policy Act of 2005).
    const rows = (date: string, hours: number[]) =>
      hours.map((hour) => `${date} ${String(hour).padStart(2, '0')}:00,${hour}`).join('\n');
    const spring = [0, 1, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23];
    const autumn = [0, 1, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23];
    const result = await imported(
      lawn.id,
      `time,Temperature (°C)\n${rows('2026-03-08', spring)}\n${rows('2026-11-01', autumn)}\n`,
    );
    expect(result).toMatchObject({ hours: 48, badCount: 0, duplicateRows: 0 });
    const inSpring = await weatherHoursBetween(lawn.id, from('2026-03-08T05:00Z'), from('2026-03-09T04:00Z'));
    const inAutumn = await weatherHoursBetween(lawn.id, from('2026-11-01T04:00Z'), from('2026-11-02T05:00Z'));
    expect(inSpring.map((hour) => hour.airTempC)).toEqual(spring);
    expect(inAutumn.map((hour) => hour.airTempC)).toEqual(autumn);
  });
  test('what is exported comes back as the same hours', async () => {
    const [lawn, copy] = [await testLawn(), await testLawn({ name: 'Copy' })];
    await imported(lawn.id, day('2026-05-01', 11.37));
    let text = '';
    for await (const piece of exportWeather(lawn, null)) text += piece;
    expect(text.split('\r\n')[0]).toContain('air temperature (°C)');
    await imported(copy.id, text);
    const span = [from('2026-05-01'), from('2026-05-03')] as const;
    const [own, back] = [await weatherHoursBetween(lawn.id, ...span), await weatherHoursBetween(copy.id, ...span)];
    expect(back).toHaveLength(24);
    const sixFigures = (hours: typeof own) =>
      hours.map((hour) =>
        WEATHER_FIELDS.map((field) => (hour[field] === null ? null : Number(hour[field].toPrecision(6)))),
      );
    expect(sixFigures(back)).toEqual(sixFigures(own));
    expect(back.map((hour) => hour.hourStartUtcMs)).toEqual(own.map((hour) => hour.hourStartUtcMs));
  });
});

describe('sprays and hours that arrive later', () => {
  test('a spray without weather takes it from the hours once they are there, and loses it when they are undone', async () => {
    const lawn = await testLawn();
    const id = await testSpray(lawn, '2026-05-01T18:30', { endedLocal: '2026-05-01T19:30' });
    expect((await findSpray(id))?.weatherSource).toBeNull();
    const { importId, sprays } = await imported(lawn.id, day('2026-05-01'));
    expect(sprays).toBe(1);
    const spray = await findSpray(id);
    expect(spray).toMatchObject({ weatherSource: 'hours', relHumidityPercent: 55, windMPerS: 2, rainBeforeMm: null });
    expectClose('mean of half an hour of 18:00 and half an hour of 19:00', spray?.airTempC, 21.85, 1e-9);
    await undoWeatherImport(lawn.id, importId);
    expect(await findSpray(id)).toMatchObject({
      weatherSource: null,
      airTempC: null,
      relHumidityPercent: null,
      windMPerS: null,
    });
    expect(await listImports(lawn.id)).toEqual([]);
  });
  test('a spray logged after the hours takes them at once, with the rain of the day before', async () => {
    const lawn = await testLawn();
    await imported(lawn.id, day('2026-05-01'));
    await imported(
      lawn.id,
      day('2026-05-02').replace('2026-05-02 06:00,20.6,55,2,0,0', '2026-05-02 06:00,20.6,55,2,4,0'),
    );
    const spray = await findSpray(await testSpray(lawn, '2026-05-02T18:00'));
    expect(spray).toMatchObject({ weatherSource: 'hours', rainBeforeMm: 4 });
  });
  test('typed weather is never overwritten, by import or by undo', async () => {
    const lawn = await testLawn();
    const id = await testSpray(lawn, '2026-05-01T18:30', { airTempC: 3 });
    const { importId } = await imported(lawn.id, day('2026-05-01'));
    expect(await findSpray(id)).toMatchObject({ weatherSource: 'typed', airTempC: 3, relHumidityPercent: null });
    await undoWeatherImport(lawn.id, importId);
    expect(await findSpray(id)).toMatchObject({ weatherSource: 'typed', airTempC: 3 });
  });
  test('an import of another lawn can’t be undone from this one', async () => {
    const [lawn, other] = [await testLawn(), await testLawn({ name: 'Other' })];
    const { importId } = await imported(lawn.id, day('2026-05-01'));
    expect(await undoWeatherImport(other.id, importId)).toMatchObject({ ok: false });
    expect(
      await weatherHoursBetween(lawn.id, from('2026-05-01'), new Date(from('2026-05-01').getTime() + 48 * HOUR_MS)),
    ).toHaveLength(24);
  });
  test('an import that was cut off by the end of the program is told as broken off', async () => {
    const lawn = await testLawn();
    await openImport(lawn.id, {
      fileName: 'cut.csv',
      hours: 0,
      firstHour: null,
      lastHour: null,
      rowsRead: 1,
      badRows: 0,
      duplicateRows: 0,
      mapping: {},
    });
    expect(await listWeatherImports(lawn.id)).toMatchObject([{ fileName: 'cut.csv', brokenOff: true }]);
  });
});
