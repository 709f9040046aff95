import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { sniffEncoding } from '@/lib/forms/weather/text-encoding';
import { guessColumn } from '@/lib/forms/weather/weather-columns';
import { type WeatherCsvResult, readWeatherCsv } from '@/lib/forms/weather/weather-csv';
import type { WeatherCsvMapping } from '@/lib/forms/weather/weather-csv-mapping';
import { previewWeatherCsv } from '@/lib/forms/weather/weather-csv-preview';
import { guessDateOrder, readStamp } from '@/lib/forms/weather/weather-stamps';
import { HOUR_MS } from '@/lib/units/time';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const place = { timeZone: 'America/New_York', windHeightM: 2 };

function* inPieces(all: Uint8Array, size: number): Generator<Uint8Array> {
  for (let i = 0; i < all.length; i += size) yield all.subarray(i, i + size);
}
function preview(all: Uint8Array) {
  const found = previewWeatherCsv(all, false, place);
  if (!found.ok) throw new Error(found.sentence);
  return found;
}
async function read(all: Uint8Array, change: Partial<WeatherCsvMapping> = {}, piece = 37): Promise<WeatherCsvResult> {
  const got = await readWeatherCsv(inPieces(all, piece), { ...preview(all).mapping, ...change });
  if (!got.ok) throw new Error(got.sentence);
  return got;
}
const iso = (utcMs: number): string => new Date(utcMs).toISOString().slice(0, 16);

describe('preview', () => {
  test('an American file: inches, Fahrenheit, mph and 12-hour times are understood', () => {
    const found = preview(
      bytes(
        'Date,Time,Outdoor Temp (°F),Humidity (%),Wind Speed (mph),Gust (mph),Rain (in),Solar Radiation (W/m²),Indoor Temp (°F)\n7/13/2025,1:00 PM,68,50,10,15,0.10,500,70\n7/13/2025,2:00 PM,77,45,5,12,0,600,70\n',
      ),
    );
    expect(found.mapping).toMatchObject({
      delimiter: ',',
      decimal: '.',
      dateOrder: 'mdy',
      dateColumn: 0,
      timeColumn: 1,
      firstDataLine: 2,
      encoding: 'utf-8',
    });
    expect(found.mapping.columns).toEqual([
      { index: 2, field: 'airTempC', unit: 'degF' },
      { index: 3, field: 'relHumidityPercent', unit: '%' },
      { index: 4, field: 'windMPerS', unit: 'mph' },
      { index: 5, field: 'gustMPerS', unit: 'mph' },
      { index: 6, field: 'rainMm', unit: 'in' },
      { index: 7, field: 'solarWPerM2', unit: 'W/m2' },
    ]);
    expect(found.asks).toEqual([]);
    expect(found.doubts).toEqual([expect.stringMatching(/beginning of its interval/)]);
  });
  test('a European file: semicolons, decimal commas, latin1, lines above the heading and a row of units', () => {
    const text =
      'Station Süd\n\nDatum;Lufttemperatur;Luftfeuchte;Windgeschwindigkeit;Niederschlag\n;°C;%;km/h;mm\n31.07.2025 13:00;21,5;48,0;7,2;0,0\n31.07.2025 14:00;22,5;46,0;3,6;1,2\n';
    const latin1 = Uint8Array.from(text, (sign) => sign.charCodeAt(0));
    const found = preview(latin1);
    expect(found.mapping).toMatchObject({
      encoding: 'windows-1252',
      delimiter: ';',
      decimal: ',',
      dateOrder: 'dmy',
      firstDataLine: 5,
      timeColumn: null,
    });
    expect(found.mapping.columns.map(({ field, unit }) => [field, unit])).toEqual([
      ['airTempC', 'degC'],
      ['relHumidityPercent', '%'],
      ['windMPerS', 'km/h'],
      ['rainMm', 'mm'],
    ]);
  });
  test('UTF-16 with and without its mark, and UTF-8 cut in a character, are recognised', () => {
    const text = 'Time,Temp (C)\n2025-07-31 13:00,20\n';
    const little = Uint8Array.from([...text].flatMap((sign) => [sign.charCodeAt(0), 0]));
    const big = Uint8Array.from([...text].flatMap((sign) => [0, sign.charCodeAt(0)]));
    expect(sniffEncoding(little)).toBe('utf-16le');
    expect(sniffEncoding(big)).toBe('utf-16be');
    expect(sniffEncoding(Uint8Array.from([0xff, 0xfe, ...little]))).toBe('utf-16le');
    expect(sniffEncoding(bytes('a°').subarray(0, 2))).toBe('utf-8');
    expect(preview(little).mapping.columns).toHaveLength(1);
  });
  test('what cannot be told is said: dates of two readings, headings without unit, pressure', () => {
    const found = preview(bytes('date,temperature,pressure (hPa)\n01/02/2025 00:00,5,1000\n'));
    expect(found.asks.join(' ')).toMatch(/more than one.*'temperature' names no unit/);
    expect(found.doubts.join(' ')).toMatch(/not reduced to sea level/);
  });
  test.each([
    ['', /empty file/],
    ['hello\nworld\n', /columns parted/],
    ['a,b\nc,d\n', /rows with a date and numbers/],
    ['PNG\u0000\u0001\u0000\u0002,x\u0000', /binary file|columns parted/],
  ])('%j gets a sentence', (text, sentence) => {
    const found = previewWeatherCsv(bytes(text), false, place);
    expect(found).toMatchObject({ ok: false });
    expect(found.ok ? '' : found.sentence).toMatch(sentence);
  });
  test('headings of other things are left alone', () => {
    for (const heading of [
      'Indoor Temperature (°C)',
      'Heat Index (F)',
      'Wind Chill',
      'Soil Temp 1',
      'UV Index',
      'Battery (V)',
      'Rain Rate (mm/h)',
      'High Temp',
    ])
      expect(guessColumn(heading)).toBeNull();
    expect(guessColumn('Dew Point (°C)')?.field).toBe('dewPointC');
    expect(guessColumn('Wind Direction')).toMatchObject({ field: 'windFromDeg', unit: 'deg' });
    expect(guessColumn('Daily Rain (in)')).toMatchObject({ field: 'rainCounterMm', unit: 'in', sure: false });
    expect(guessColumn('air_temp_degC')).toMatchObject({ field: 'airTempC', unit: 'degC' });
  });
});

describe('stamps', () => {
  test.each([
    ['2025-07-31 18:05', 'ymd', '2025-07-31T18:05'],
    ['2025-07-31T18:05:30', 'ymd', '2025-07-31T18:05'],
    ['7/31/2025 12:05 AM', 'mdy', '2025-07-31T00:05'],
    ['7/31/25 12:05 pm', 'mdy', '2025-07-31T12:05'],
    ['31.07.2025 24:00', 'dmy', '2025-08-01T00:00'],
    ['20250731 1805', 'ymd', '2025-07-31T18:05'],
    ['2025-07-31T18:05Z', 'ymd', '2025-07-31T18:05'],
    ['2025-07-31T18:05+05:30', 'ymd', '2025-07-31T12:35'],
    ['1753985100', 'unix-s', '2025-07-31T18:05'],
  ] as const)('%s read %s is %s', (text, order, expected) => {
    const stamp = readStamp(text, order);
    expect(stamp.kind === 'bad' ? stamp.reason : iso(stamp.kind === 'wall' ? stamp.asUtcMs : stamp.utcMs)).toBe(
      expected,
    );
  });
  test.each([
    ['2025-02-30 10:00', 'ymd'],
    ['13/31/2025 1:00', 'mdy'],
    ['yesterday', 'dmy'],
    ['7/1/2025 13:00 PM', 'mdy'],
  ] as const)('%s is refused with the reason', (text, order) => {
    const stamp = readStamp(text, order);
    expect(stamp.kind === 'bad' ? stamp.reason : '').toMatch(/^time/);
  });
  test('of two orders the one that keeps time running is taken', () => {
    expect(guessDateOrder(['01/02/2025 22:00', '01/02/2025 23:00', '02/02/2025 00:00'])).toEqual({
      order: 'dmy',
      sure: true,
    });
    expect(guessDateOrder(['01/02/2025 22:00'])?.sure).toBe(false);
  });
});

const year = (from: string, count: number, everyMin: number, label: (utcMs: number) => string): Uint8Array =>
  bytes(
    `time,Rain (mm)\n${Array.from({ length: count }, (_, i) => `${label(Date.parse(from) + i * everyMin * 60_000)},1`).join('\n')}\n`,
  );

describe('reading', () => {
  test('every unit comes out canonical (exact definitions: inch 25.4 mm, mile 1609.344 m, knot 1852 m/h)', async () => {
    const { hours } = await read(
      bytes(
        'time,Temp (F),Wind (mph),Gust (knots),Rain (in),Pressure abs (inHg),Solar (MJ/m2)\n2025-07-31 13:00,77,10,20,0.5,29.92,1.8\n',
      ),
    );
    const [hour] = hours;
    expect(hour?.airTempC).toBeCloseTo(25, 12);
    expect(hour?.windMPerS).toBeCloseTo(4.4704, 12);
    expect(hour?.gustMPerS).toBeCloseTo(10.2889, 4);
    expect(hour?.rainMm).toBeCloseTo(12.7, 12);
    expect(hour?.pressureKPa).toBeCloseTo(101.32, 2); // 29.92 inHg is the standard atmosphere to 4 digits
    expect(hour?.solarWPerM2).toBeCloseTo(500, 9);
    expect(hour?.windHeightM).toBe(2);
    expect(iso(hour?.hourStartUtcMs ?? 0)).toBe('2025-07-31T17:00'); // New York in summer
  });
  test('quarter-hours become hours: means, sums, the strongest gust, a direction across north', async () => {
    const rows = [
      [10, 0.2, 3, 350],
      [12, 0.4, 9, 10],
      [14, 0, 4, 350],
      [16, 0.2, 2, 10],
    ].map(([t, r, g, d], i) => `2025-07-31 13:${String(i * 15).padStart(2, '0')},${t},${r},${g},${d}`);
    const { hours } = await read(bytes(`time,Temp (C),Rain (mm),Gust (m/s),Wind Dir\n${rows.join('\n')}\n`));
    expect(hours).toHaveLength(1);
    expect(hours[0]).toMatchObject({ airTempC: 13, gustMPerS: 9 });
    expect(hours[0]?.rainMm).toBeCloseTo(0.8, 12);
    expect(Math.min(hours[0]?.windFromDeg ?? 180, 360 - (hours[0]?.windFromDeg ?? 180))).toBeCloseTo(0, 9);
  });
  test('stamps that mark the end belong to the hour before', async () => {
    const { hours } = await read(bytes('time,Rain (mm)\n2025-07-31 13:00,1\n2025-07-31 13:30,2\n'), {
      stampMarks: 'end',
    });
    expect(hours.map((hour) => [iso(hour.hourStartUtcMs), hour.rainMm])).toEqual([
      ['2025-07-31T16:00', 1],
      ['2025-07-31T17:00', 2],
    ]);
  });
  test('a rain counter gives its rise, and its reset at midnight loses nothing', async () => {
    const { hours } = await read(
      bytes(
        'time,Daily Rain (mm)\n2025-07-31 21:00,1\n2025-07-31 22:00,3\n2025-07-31 23:00,3.5\n2025-08-01 00:00,0.5\n2025-08-01 01:00,0.5\n',
      ),
    );
    expect(hours.map((hour) => hour.rainMm)).toEqual([null, 2, 0.5, 0.5, 0]);
  });
  test('humidity missing beside a dew point is computed from it', async () => {
    const { hours } = await read(bytes('time,Temp (C),Dew Point (C)\n2025-07-31 13:00,20,9.26\n'));
    expect(hours[0]?.relHumidityPercent).toBeCloseTo(50, 1); // 20 °C, 50 % has its dew point at 9.26 °C (FAO-56 eq. 3-11)
  });
  test('rows for one instant are merged: the later line wins, an empty cell does not, and rain is not doubled', async () => {
    const { hours, duplicateRows } = await read(
      bytes('time,Temp (C),Rain (mm)\n2025-07-31 13:00,20,1\n2025-07-31 13:00,21,\n2025-07-31 13:00,21,\n'),
    );
    expect(hours[0]).toMatchObject({ airTempC: 21, rainMm: 1 });
    expect(duplicateRows).toBe(2);
  });
  test('bad rows and cells are listed by line with the reason, the rest is kept', async () => {
    const { hours, bad, rowsUsed } = await read(
      bytes(
        'time,Temp (C),Humidity (%)\n2025-07-31 13:00,20,50\n2025-07-31 14:00,abc,51\nrubbish,1,2\n\n2025-07-31 15:00,22,180\n2025-07-31 16:00,23,--\n',
      ),
    );
    expect(bad.map((row) => row.line)).toEqual([3, 4, 6]);
    expect(bad[0]?.reason).toContain("airTempC: expected a number in degC, got 'abc'");
    expect(bad[1]?.reason).toContain("got 'rubbish'");
    expect(bad[2]?.reason).toContain('relHumidityPercent: expected a number a sensor can report');
    expect(rowsUsed).toBe(4);
    expect(hours.map((hour) => [hour.airTempC, hour.relHumidityPercent])).toEqual([
      [20, 50],
      [null, 51],
      [22, null],
      [23, null],
    ]);
  });
  const format = new Intl.DateTimeFormat('sv-SE', {
    timeZone: 'America/New_York',
    dateStyle: 'short',
    timeStyle: 'short',
  });
  test.each([
    [60, 'rising'],
    [15, 'rising'],
    [60, 'falling'],
    [15, 'falling'],
  ] as const)(
    'a year of New York wall times every %d min, %s, loses and doubles no hour',
    async (everyMin, direction) => {
      const perHour = 60 / everyMin;
      let file = year('2024-01-01T05:00Z', 366 * 24 * perHour, everyMin, (utcMs) => format.format(utcMs));
      if (direction === 'falling') {
        const [heading = '', ...rows] = new TextDecoder().decode(file).trim().split('\n');
        file = bytes(`${heading}\n${rows.reverse().join('\n')}\n`);
      }
      const { hours, badCount, duplicateRows, repeatedHourRows } = await read(file, {}, 65_536);
      expect({ badCount, duplicateRows, repeatedHourRows }).toEqual({
        badCount: 0,
        duplicateRows: 0,
        repeatedHourRows: 2 * perHour,
      });
      expect(hours).toHaveLength(366 * 24);
      expect(
        hours.every(
          (hour, i) => hour.rainMm === perHour && hour.hourStartUtcMs === Date.parse('2024-01-01T05:00Z') + i * HOUR_MS,
        ),
      ).toBe(true);
    },
  );
  test('a logger that never changes its clock is read at a fixed offset; by the zone its skipped hour is listed, not moved', async () => {
    const file = year('2024-03-10T05:00Z', 24, 60, (utcMs) => new Date(utcMs - 5 * HOUR_MS).toISOString().slice(0, 16));
    const fixed = await read(file, { clock: { kind: 'fixed', offsetMin: -300 } });
    expect(fixed.hours).toHaveLength(24);
    const zoned = await read(file);
    expect(zoned.bad).toHaveLength(1);
    expect(zoned.bad[0]).toMatchObject({ line: 4, reason: expect.stringContaining('does not exist') as string });
  });
  test('bytes cut anywhere give the same hours, in UTF-16 and UTF-8', async () => {
    const text = 'time,Temp (°C)\n2025-07-31 13:00,20.5\n2025-07-31 14:00,21.5\n';
    const wide = Uint8Array.from([...text].flatMap((sign) => [sign.charCodeAt(0), 0]));
    const [one] = [await read(bytes(text), {}, 1)];
    expect((await read(wide, {}, 3)).hours).toEqual(one?.hours);
    expect(one?.hours.map((hour) => hour.airTempC)).toEqual([20.5, 21.5]);
  });
  test('whatever bytes come, there are hours or a sentence, never an exception', async () => {
    const good =
      'time,Temp (C),Rain (mm),Wind (mph)\n' +
      Array.from({ length: 30 }, (_, i) => `2025-07-${String(1 + i).padStart(2, '0')} 13:00,${i},0.2,3`).join('\n');
    const { mapping } = preview(bytes(good));
    const spoil = fc.tuple(
      fc.array(fc.tuple(fc.nat(good.length - 1), fc.integer({ min: 0, max: 255 })), { maxLength: 12 }),
      fc.nat(good.length),
    );
    await fc.assert(
      fc.asyncProperty(spoil, async ([changes, length]) => {
        const spoilt = bytes(good).slice(0, length);
        for (const [at, value] of changes) if (at < spoilt.length) spoilt[at] = value;
        const seen = previewWeatherCsv(spoilt, false, place);
        expect(seen.ok || seen.sentence.startsWith('Weather file: expected')).toBe(true);
        for (const way of seen.ok ? [mapping, seen.mapping] : [mapping]) {
          const got = await readWeatherCsv(inPieces(spoilt, 101), way);
          expect(
            got.ok
              ? got.hours.length > 0 && got.hours.every((hour) => Number.isInteger(hour.hourStartUtcMs / HOUR_MS))
              : got.sentence.startsWith('Weather file: '),
          ).toBe(true);
        }
      }),
      { numRuns: 200 },
    );
  });
  test('a mapping that makes no sense is refused with a sentence', async () => {
    const { mapping } = preview(bytes('time,Temp (C)\n2025-07-31 13:00,20\n'));
    const sentence = async (change: object): Promise<string> => {
      const got = await readWeatherCsv([bytes('x')], { ...mapping, ...change });
      return got.ok ? '' : got.sentence;
    };
    expect(await sentence({ columns: [] })).toContain('expected at least one weather column');
    expect(await sentence({ columns: [{ index: 1, field: 'airTempC', unit: 'mm' }] })).toContain(
      "unit of airTempC: expected one of degC, degF, K, got 'mm'",
    );
    expect(await sentence({ clock: { kind: 'zone', timeZone: 'Mars/One' } })).toContain('time zone');
    expect(await sentence({})).toContain('none that can be used');
  });
});

// What a logger's own definitions say decides here: an hour of 6 rows of 12 mm/h is 12 mm of rain, 1 MJ/m² in 10 min is
// 1667 W/m² (1e6 J / 600 s).
describe('figures that can be taken for others', () => {
  const tenMinutes = (heading: string, cells: readonly string[]): Uint8Array =>
    bytes(
      `time,${heading}\n${cells.map((cell, i) => `2025-07-31 13:${String(i * 10).padStart(2, '0')},${cell}`).join('\n')}\n`,
    );
  test('seconds since 1970 are seconds: no hour lands in 1970, and ten digits are not milliseconds', async () => {
    expect(guessDateOrder(['1753985100', '1753985700'])).toEqual({ order: 'unix-s', sure: true });
    expect(guessDateOrder(['1753985100000', '1753985700000'])).toEqual({ order: 'unix-ms', sure: true });
    expect(readStamp('1753985100', 'unix-ms').kind).toBe('bad');
    const { hours } = await read(bytes('time,Temp (C)\n1753985100,20\n1753988700,21\n'));
    expect(iso(hours[0]?.hourStartUtcMs ?? 0)).toBe('2025-07-31T18:00');
    const withFractions = await read(bytes('time,Temp (C)\n1753985100.0,20\n1753988700.5,21\n'));
    expect(withFractions.hours.map((hour) => iso(hour.hourStartUtcMs))).toEqual([
      '2025-07-31T18:00',
      '2025-07-31T19:00',
    ]);
  });
  test('a rate in mm/h or in/h is averaged over the hour, an amount in mm is summed', async () => {
    expect((await read(tenMinutes('Rain (mm/h)', ['12', '12', '12', '12', '12', '12']))).hours[0]?.rainMm).toBeCloseTo(
      12,
      12,
    );
    expect((await read(tenMinutes('Rain (in/hr)', ['0', '0', '0', '0.5', '0.5', '0.5']))).hours[0]?.rainMm).toBeCloseTo(
      0.25 * 25.4,
      12,
    );
    expect((await read(tenMinutes('Rain (mm)', ['2', '2', '2', '2', '2', '2']))).hours[0]?.rainMm).toBeCloseTo(12, 12);
  });
  test('MJ/m² of each row is energy in the row’s own interval; MJ/m² h is a rate', async () => {
    const six = Array.from({ length: 6 }, () => '0.3');
    expect((await read(tenMinutes('Solar (MJ/m²)', six))).hours[0]?.solarWPerM2).toBeCloseTo(0.3e6 / 600, 9);
    expect(
      (
        await read(
          tenMinutes(
            'Solar (Wh/m2)',
            Array.from({ length: 6 }, () => '100'),
          ),
        )
      ).hours[0]?.solarWPerM2,
    ).toBeCloseTo(600, 9);
    expect(
      (
        await read(
          tenMinutes(
            'Solar (MJ/m2/h)',
            Array.from({ length: 6 }, () => '1.8'),
          ),
        )
      ).hours[0]?.solarWPerM2,
    ).toBeCloseTo(500, 9);
    expect(
      (await read(bytes('time,Solar (MJ/m2)\n2025-07-31 13:00,1.8\n2025-07-31 14:00,1.8\n'))).hours[0]?.solarWPerM2,
    ).toBeCloseTo(500, 9);
    const { hours, bad } = await read(tenMinutes('Solar (MJ/m²)', ['0.3', '1.8', '0.3', '0.3', '0.3', '0.3'])); // 3000 W/m²: more than the sun gives
    expect(hours[0]?.solarWPerM2).toBeCloseTo(500, 9);
    expect(bad[0]).toMatchObject({ line: 3, reason: expect.stringContaining('in 10 min') as string });
  });
  test('humidity from 0 to 1 is a share, and that is said', async () => {
    const file = bytes('time,Temp (C),RH\n2025-07-31 13:00,20,0.48\n2025-07-31 14:00,20,0.97\n');
    expect(preview(file).doubts.join(' ')).toMatch(/'RH'.*0 to 1/);
    expect((await read(file)).hours.map((hour) => hour.relHumidityPercent)).toEqual([48, 97]);
    // A sensor may overshoot by some per cent, in shares as well.
    const overshot = await read(bytes('time,RH (%)\n2025-07-31 13:00,0.95\n2025-07-31 14:00,1.02\n'));
    expect(overshot.hours.map((hour) => hour.relHumidityPercent)).toEqual([95, 100]);
    expect(preview(bytes('time,RH\n2025-07-31 13:00,48\n2025-07-31 14:00,1\n')).mapping.columns[0]?.unit).toBe('%');
  });
  test('the height of the anemometer is read from the heading or asked, never taken as 2 m', async () => {
    const open = { timeZone: 'UTC', windHeightM: null };
    const heightOf = (heading: string) => {
      const found = previewWeatherCsv(bytes(`time,${heading}\n2025-07-31 13:00,3\n`), false, open);
      return found.ok ? found.mapping.windHeightM : Number.NaN;
    };
    expect(heightOf('wind_speed_10m (m/s)')).toBe(10);
    expect(heightOf('Wind at 2 m (m/s)')).toBe(2);
    expect(heightOf('Wind 33 ft (mph)')).toBeCloseTo(10.0584, 4);
    expect(heightOf('windspdmph_avg10m')).toBeNull(); // ten minutes
    const found = previewWeatherCsv(bytes('time,Wind (m/s)\n2025-07-31 13:00,3\n'), false, open);
    if (!found.ok) throw new Error(found.sentence);
    expect(found.asks.join(' ')).toContain('height of the anemometer');
    const unanswered = await readWeatherCsv([bytes('time,Wind (m/s)\n2025-07-31 13:00,3\n')], found.mapping);
    expect(unanswered).toEqual({
      ok: false,
      sentence: 'Weather file: wind height: expected the height of the anemometer, 0.5 to 200 m, got nothing.',
    });
  });
  test('decimal commas in quotation marks in a file parted by commas are decimals; bare ones are refused with what to do', async () => {
    const quoted = bytes(
      'time,Temp (C),Humidity (%)\n2025-07-31 13:00,"25,5","48,0"\n2025-07-31 14:00,"26,5","46,5"\n',
    );
    expect(preview(quoted).mapping).toMatchObject({ delimiter: ',', decimal: ',' });
    expect((await read(quoted)).hours.map((hour) => [hour.airTempC, hour.relHumidityPercent])).toEqual([
      [25.5, 48],
      [26.5, 46.5],
    ]);
    const bare = previewWeatherCsv(
      bytes('time,Temp (C),Humidity (%)\n2025-07-31 13:00,25,5,48,0\n2025-07-31 14:00,26,5,46,5\n'),
      false,
      place,
    );
    expect(bare).toEqual({
      ok: false,
      sentence: expect.stringMatching(/expected 3 columns as the heading has, got rows of 5.*decimal commas/) as string,
    });
    expect(preview(bytes('time,Temp (C),Pressure abs (hPa)\n2025-07-31 13:00,25.5,"1,013.2"\n')).mapping.decimal).toBe(
      '.',
    );
  });
  test.each([
    ['tempf', 'airTempC', 'degF'],
    ['windspeedmph', 'windMPerS', 'mph'],
    ['windgustmph', 'gustMPerS', 'mph'],
    ['dewptf', 'dewPointC', 'degF'],
    ['tempc', 'airTempC', 'degC'],
    ['dailyrainin', 'rainCounterMm', 'in'],
    ['baromabsin', 'pressureKPa', 'inHg'],
    ['hourlyrainin', 'rainMm', 'in/h'],
    ['windspdms', 'windMPerS', 'm/s'],
    ['windspeedkmh', 'windMPerS', 'km/h'],
    ['solarradiation', 'solarWPerM2', null],
    ['humidity', 'relHumidityPercent', '%'],
    ['winddir', 'windFromDeg', 'deg'],
    ['wind', 'windMPerS', null],
    ['Rain', 'rainMm', null],
  ] as const)('heading %s is %s in %s', (heading, field, unit) => {
    expect(guessColumn(heading)).toMatchObject({ field, unit });
  });
  test.each(['tempinf', 'humidityin', 'rainratein', 'maxdailygust', 'feelslikef', 'windchillf', 'soiltemp1f'])(
    'heading %s is left alone',
    (heading) => {
      expect(guessColumn(heading)).toBeNull();
    },
  );
  test('a heading without a unit is asked, not guessed; so is a date of two readings', async () => {
    const found = preview(bytes('date,temperature\n01/02/2025 00:00,5\n'));
    expect(found.asks.join(' ')).toMatch(/order of the date.*'temperature'.*unit/i);
    expect(found.mapping).toMatchObject({ dateOrder: null, columns: [{ unit: '' }] });
    const got = await readWeatherCsv([bytes('x')], { ...found.mapping, dateOrder: 'mdy' });
    expect(got).toEqual({
      ok: false,
      sentence: 'Weather file: unit of airTempC: expected one of degC, degF, K, got nothing.',
    });
  });
  test('times headed UTC are read as UTC, and that is said', async () => {
    const file = bytes('dateutc,tempf\n2025-07-31 18:00,68\n');
    expect(preview(file).doubts.join(' ')).toContain('UTC');
    expect(iso((await read(file)).hours[0]?.hourStartUtcMs ?? 0)).toBe('2025-07-31T18:00');
  });
  test('a bad row is blamed by its own line and takes no other with it: an open quotation mark, too many cells', async () => {
    const { hours, bad } = await read(
      bytes(
        'time,Temp (C),Humidity (%)\n2025-07-31 13:00,20,50\n2025-07-31 14:00,"21,51\n2025-07-31 15:00,22,52\n2025-07-31 16:00,"23",53\n2025-07-31 17:00,24,5,54\n2025-07-31 18:00,25,55\n',
      ),
    );
    expect(bad.map((row) => row.line)).toEqual([3, 6]);
    expect(bad[0]?.reason).toContain('quotation mark');
    expect(bad[1]?.reason).toContain('expected 3 columns, got 4');
    expect(hours.map((hour) => hour.airTempC)).toEqual([20, 22, 23, 25]);
  });
  test('a bad first row doesn’t say what the others look like', async () => {
    const { hours, bad } = await read(
      bytes(
        'time,Temp (C),Humidity (%)\n2025-07-31 13:00,"20,50\n2025-07-31 14:00,21,51\n2025-07-31 15:00,22,52\n2025-07-31 16:00,23,53\n',
      ),
    );
    expect(bad.map((row) => row.line)).toEqual([2]);
    expect(hours.map((hour) => [hour.airTempC, hour.relHumidityPercent])).toEqual([
      [21, 51],
      [22, 52],
      [23, 53],
    ]);
  });
});
