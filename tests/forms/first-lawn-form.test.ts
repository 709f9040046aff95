import { describe, expect, test } from 'vitest';
import { parseForm } from '@/lib/forms/fields';
import { FirstLawnForm } from '@/lib/forms/first-lawn-form';
import { readPlace } from '@/lib/forms/place-text';
import { unitsOfLanguages } from '@/lib/units/first-guess';

describe('where a lawn lies, as typed', () => {
  test.each([
    ['41.88, -87.63', 41.88, -87.63],
    ['41.88 N, 87.63 W', 41.88, -87.63],
    ['41,88; 12,5', 41.88, 12.5],
    ['41°52′48″N 87°37′48″W', 41.88, -87.63],
    ["33° 52' S, 151° 13' E", -(33 + 52 / 60), 151 + 13 / 60],
    ['behind the barn, 45.07 7.69', 45.07, 7.69],
  ])('%s holds coordinates', (text, latitude, longitude) => {
    const place = readPlace(text);
    expect(place.latitudeDeg).toBeCloseTo(latitude, 6);
    expect(place.longitudeDeg).toBeCloseTo(longitude, 6);
    expect(place.words).toBe(text);
  });

  test.each(['Springfield', '12 Elm Street', '120 4 Oak Lane', '', '95.2, 10.1', '10.5, 200.5'])(
    '%s is words alone',
    (text) => {
      expect(readPlace(text)).toEqual({ words: text, latitudeDeg: null, longitudeDeg: null });
    },
  );
});

describe('the first guess at units', () => {
  test.each([
    ['en-US,en;q=0.9', 'us-customary'],
    ['es-PR', 'us-customary'],
    ['en', 'us-customary'],
    ['', 'us-customary'],
    ['en-GB,en-US;q=0.8', 'metric'],
    ['de', 'metric'],
    ['fr-CA,en-US;q=0.5', 'metric'],
    ['zh-Hans-CN', 'metric'],
  ])('%s reads %s', (languages, system) => expect(unitsOfLanguages(languages)).toBe(system));
});

describe('a new lawn on one screen', () => {
  const form = (fields: Record<string, string>) => {
    const data = new FormData();
    for (const [name, value] of Object.entries({
      name: 'My lawn',
      unitSystem: 'us-customary',
      timeZone: 'America/Chicago',
      ...fields,
    }))
      data.set(name, value);
    return parseForm(FirstLawnForm, data);
  };

  test('name, units and zone are enough', () => {
    expect(form({})).toMatchObject({
      ok: true,
      value: { lawn: { name: 'My lawn', latitudeDeg: null }, plots: [], sprayer: null },
    });
  });

  test('one size makes a check and a sprayed plot side by side', () => {
    const made = form({
      'length.value': '20',
      'length.unit': 'ft',
      'width.value': '5',
      'width.unit': 'ft',
      'tank.value': '4',
      'tank.unit': 'us-gal',
      'carrier.value': '1',
      'carrier.unit': 'us-gal/1000ft2',
    });
    expect(made.ok).toBe(true);
    if (!made.ok) return;
    const { plots, sprayer } = made.value;
    expect(plots.map(({ name, isCheck }) => [name, isCheck])).toEqual([
      ['Check', true],
      ['A', false],
    ]);
    // 100 ft² is 9.290304 m² (NIST Handbook 44); the second begins where the first ends, 5 ft = 1.524 m.
    for (const plot of plots) expect(plot.areaM2).toBeCloseTo(9.290304, 9);
    expect(plots[1]!.polygonM[0]![0]).toBeCloseTo(1.524, 9);
    expect(sprayer).toMatchObject({ name: 'Sprayer', tankEnteredValue: 4, tankEnteredUnit: 'us-gal' });
    expect(sprayer?.carrierLPerHa).toBeCloseTo(407.458, 3); // 3.785411784 L on 92.90304 m²
  });

  test('a width without a length, a carrier without a tank, and one name twice are each one sentence', () => {
    expect(form({ 'width.value': '5', 'width.unit': 'ft' })).toMatchObject({
      ok: false,
      errors: { length: 'Plots: expected both length and width, got no length' },
    });
    expect(form({ 'carrier.value': '1', 'carrier.unit': 'us-gal/1000ft2' })).toMatchObject({
      ok: false,
      errors: { tank: expect.stringContaining('expected its volume') as string },
    });
    expect(form({ checkName: 'A' })).toMatchObject({
      ok: false,
      errors: { plotName: expect.stringContaining("got 'A'") as string },
    });
  });
});
