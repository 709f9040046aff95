import { describe, expect, test } from 'vitest';
import {
  addWeatherHours,
  keepServiceHours,
  removeServiceHours,
  weatherHoursBetween,
  writeImportHours,
} from '@/lib/diary/weather-hours';
import { closeImport, openImport, removeImport } from '@/lib/diary/weather-imports';
import { emptyHour, type WeatherHour } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { useFreshDiary } from '../support/diary';
import { testLawn } from '../support/test-lawn';

useFreshDiary();

const start = Date.parse('2026-05-01T00:00Z');
const at = (hours: number): Date => new Date(start + hours * HOUR_MS);
const hour = (offset: number, figures: Partial<WeatherHour>): WeatherHour => ({
  ...emptyHour(start + offset * HOUR_MS),
  ...figures,
});
async function file(lawnId: string, fileName: string, hours: WeatherHour[]): Promise<string> {
  const opened = await openImport(lawnId, {
    fileName,
    hours: 0,
    firstHour: null,
    lastHour: null,
    rowsRead: hours.length,
    badRows: 0,
    duplicateRows: 0,
    mapping: {},
  });
  await closeImport(
    opened.id,
    await writeImportHours({ lawnId, layer: opened.layer, importId: opened.id, source: fileName }, hours),
  );
  return opened.id;
}

describe('hours from several sources', () => {
  test('a later file stands in front of an earlier one, and removing it brings the earlier figures back', async () => {
    const { id } = await testLawn();
    await file(id, 'first.csv', [hour(0, { airTempC: 10 }), hour(1, { airTempC: 11 })]);
    const second = await file(id, 'second.csv', [hour(1, { airTempC: 21 }), hour(2, { airTempC: 22 })]);
    expect((await weatherHoursBetween(id, at(0), at(3))).map((one) => one.airTempC)).toEqual([10, 21, 22]);
    await removeImport(second);
    expect((await weatherHoursBetween(id, at(0), at(3))).map((one) => [one.airTempC, one.source])).toEqual([
      [10, 'first.csv'],
      [11, 'first.csv'],
    ]);
  });
  test('a rain gauge and a thermometer in two files make one hour', async () => {
    const { id } = await testLawn();
    await file(id, 'air.csv', [hour(0, { airTempC: 10, relHumidityPercent: 50 })]);
    await file(id, 'rain.csv', [hour(0, { rainMm: 3 })]);
    expect(await weatherHoursBetween(id, at(0), at(1))).toMatchObject([
      { airTempC: 10, relHumidityPercent: 50, rainMm: 3, source: 'rain.csv + air.csv' },
    ]);
  });
  test('wind is never paired with the height of another anemometer', async () => {
    const { id } = await testLawn();
    await keepServiceHours(id, 'service', [
      hour(0, { windMPerS: 6, windHeightM: 10, gustMPerS: 12, solarWPerM2: 300 }),
    ]);
    await file(id, 'own.csv', [hour(0, { windMPerS: 2, windHeightM: 2 })]);
    expect(await weatherHoursBetween(id, at(0), at(1))).toMatchObject([
      { windMPerS: 2, windHeightM: 2, gustMPerS: null, solarWPerM2: 300 },
    ]);
  });
  test('the service stands behind everything, is replaced by its own newer answer, and goes without touching files', async () => {
    const { id } = await testLawn();
    await file(id, 'own.csv', [hour(0, { airTempC: 10 })]);
    await keepServiceHours(id, 'service', [hour(0, { airTempC: 15 }), hour(1, { airTempC: 16 })]);
    await keepServiceHours(id, 'service', [hour(1, { airTempC: 17 })]);
    expect((await weatherHoursBetween(id, at(0), at(2))).map((one) => one.airTempC)).toEqual([10, 17]);
    expect(await removeServiceHours(id)).toBe(2);
    expect((await weatherHoursBetween(id, at(0), at(2))).map((one) => one.airTempC)).toEqual([10]);
  });
  test('an hour written without a file is not written twice, and the end of a span is not in it', async () => {
    const { id } = await testLawn();
    const rows = [
      { hourStart: at(0), source: 'typed', airTempC: 1 },
      { hourStart: at(1), source: 'typed', airTempC: 2 },
    ];
    expect(await addWeatherHours(id, rows)).toBe(2);
    expect(await addWeatherHours(id, rows)).toBe(0);
    expect(await weatherHoursBetween(id, at(0), at(1))).toHaveLength(1);
  });
  test('one lawn’s hours are not another’s', async () => {
    const [one, other] = [await testLawn(), await testLawn({ name: 'Other' })];
    await file(one.id, 'a.csv', [hour(0, { airTempC: 10 })]);
    expect(await weatherHoursBetween(other.id, at(0), at(1))).toEqual([]);
  });
});
