import { describe, expect, test } from 'vitest';
import { cameraAt } from '@/lib/demo/camera';
import { gainAgainstCheck } from '@/lib/demo/response';
import { demoScenario, dosesOn } from '@/lib/demo/scenario';
import { PALE_TURF_DGCI, turfColour } from '@/lib/demo/turf-colour';

const scenario = demoScenario();

describe('the demo scenario', () => {
  test('is the same for the same seed, and another seed changes weather and poses but not the story', () => {
    expect(demoScenario()).toEqual(scenario);
    const other = demoScenario(7);
    expect(other.weatherHours).not.toEqual(scenario.weatherHours);
    expect(other.photos[0]?.pose).not.toEqual(scenario.photos[0]?.pose);
    expect(other.sprays).toEqual(scenario.sprays);
    expect(other.photos.map(({ takenAtLocal }) => takenAtLocal)).toEqual(
      scenario.photos.map(({ takenAtLocal }) => takenAtLocal),
    );
  });

  test('each strip polygon encloses its stated area and no strip overlaps another', () => {
    for (const { polygonM, areaM2 } of scenario.strips) {
      const twice = polygonM.reduce((sum, [x, y], i) => {
        const [nx, ny] = polygonM[(i + 1) % polygonM.length] as readonly [number, number];
        return sum + x * ny - nx * y;
      }, 0);
      expect(Math.abs(twice) / 2).toBeCloseTo(areaM2, 9);
    }
    const edges = scenario.strips.map(
      ({ polygonM }) => [Math.min(...polygonM.map(([x]) => x)), Math.max(...polygonM.map(([x]) => x))] as const,
    );
    for (let i = 1; i < edges.length; i++)
      expect((edges[i] as readonly [number, number])[0]).toBeGreaterThan(
        (edges[i - 1] as readonly [number, number])[1],
      );
  });

  test('rates in g/100 m² become kg/ha of product, iron and nitrogen as worked by hand for the first round', () => {
    const full = scenario.sprays.find(({ id }) => id === '1-full-iron');
    // 110 g / 100 m² = 0.110 kg / 0.01 ha = 11 kg/ha; of that 20 % iron = 2.2 kg Fe/ha
    expect(full?.items.find(({ productId }) => productId === 'ferrous-sulfate')?.rateKgPerHa).toBeCloseTo(11, 9);
    expect(dosesOn('C')[0]?.ironKgPerHa).toBeCloseTo(2.2, 9);
    // 80 g / 100 m² = 8 kg/ha; of that 21 % nitrogen = 1.68 kg N/ha, on both strips
    expect(dosesOn('C')[0]?.nitrogenKgPerHa).toBeCloseTo(1.68, 9);
    expect(dosesOn('B')[0]?.nitrogenKgPerHa).toBeCloseTo(1.68, 9);
    // 6 L / 100 m² = 600 L/ha, as the catch test says: 630 mL on 10.5 m²
    expect(full?.carrierLPerHa).toBeCloseTo(600, 9);
    expect((scenario.sprayer.catchTestMl / 1000 / scenario.sprayer.catchTestAreaM2) * 10_000).toBeCloseTo(
      scenario.sprayer.carrierLPerHa,
      9,
    );
  });

  test('every spray names products on the shelf within their label maximum, and the check is never sprayed', () => {
    const shelf = new Map(scenario.products.map((product) => [product.id, product]));
    for (const { items, stripIds } of scenario.sprays) {
      expect(stripIds).not.toContain('A');
      for (const { productId, rate } of items) {
        const product = shelf.get(productId);
        expect(product?.labelMax.unit).toBe(rate.unit);
        expect(rate.value).toBeLessThanOrEqual(product?.labelMax.value ?? 0);
      }
    }
    expect(dosesOn('A')).toEqual([]);
  });

  test('twelve photos in order of time, each file name once, every strip corner inside the photo', () => {
    const { photos } = scenario;
    expect(photos).toHaveLength(12);
    expect(new Set(photos.map(({ fileName }) => fileName)).size).toBe(12);
    expect(photos.map(({ takenAtLocal }) => takenAtLocal)).toEqual(
      photos.map(({ takenAtLocal }) => takenAtLocal).sort(),
    );
    for (const { plotCorners, widthPx, heightPx } of photos) {
      for (const [x, y] of Object.values(plotCorners).flat()) {
        expect(x).toBeGreaterThan(20);
        expect(x).toBeLessThan(widthPx - 20);
        expect(y).toBeGreaterThan(20);
        expect(y).toBeLessThan(heightPx - 20);
      }
    }
  });

  test('each photo follows the last spray before it', () => {
    for (const { followsSprayId, takenAtLocal } of scenario.photos) {
      const before = scenario.sprays.filter(({ startedLocal }) => startedLocal < takenAtLocal).map(({ id }) => id);
      expect(followsSprayId).toBe(before.at(-1) ?? null);
    }
  });
});

describe('the demo turf', () => {
  test('turf asked for a rise of the index has that rise', () => {
    for (const gain of [0, 0.02, 0.05, 0.1, 0.2]) {
      const [r, g, b] = turfColour(gain).map((linear) =>
        linear <= 0.0031308 ? linear * 12.92 : 1.055 * linear ** (1 / 2.4) - 0.055,
      ) as [number, number, number];
      // green is the largest channel: hue 120 + 60 (b - r) / (max - min), saturation (max - min) / max, brightness max
      const least = Math.min(r, b);
      const hue = 120 + (60 * (b - r)) / (g - least);
      expect(((hue - 60) / 60 + (1 - (g - least) / g) + (1 - g)) / 3 - PALE_TURF_DGCI).toBeCloseTo(gain, 6);
    }
  });

  test('a rise out of range is refused with the range', () => {
    expect(() => turfColour(-0.01)).toThrow(/gainDgci: expected a number from 0 to/);
    expect(() => turfColour(0.5)).toThrow(RangeError);
  });

  test('one dose of nitrogen alone peaks at 8 days, and nothing happens before a spray', () => {
    const dose = [{ atDay: 2, ironKgPerHa: 0, nitrogenKgPerHa: 1 }];
    const gains = Array.from({ length: 30 }, (_, day) => gainAgainstCheck(dose, day));
    expect(gains.indexOf(Math.max(...gains))).toBe(10);
    expect(gains.slice(0, 3)).toEqual([0, 0, 0]);
    expect(gainAgainstCheck([], 5)).toBe(0);
  });
});

describe('the demo camera', () => {
  test('a pixel traced to the ground and projected back is the same pixel', () => {
    const camera = cameraAt(
      { xM: 1, yM: -3, heightM: 2, bearingDeg: 12, downDeg: 25, rollDeg: -7, focalPx: 1000 },
      1600,
      1200,
    );
    for (const [u, v] of [
      [30, 900],
      [800, 600],
      [1500, 1100],
    ] as const) {
      const [dx, dy, dz] = camera.ray(u, v);
      const t = -2 / dz;
      const { point, depthM } = camera.project(1 + t * dx, -3 + t * dy, 0);
      expect(point[0]).toBeCloseTo(u, 6);
      expect(point[1]).toBeCloseTo(v, 6);
      expect(depthM).toBeCloseTo(t, 9);
    }
  });

  test('a level camera turned to nowhere sees a place ahead at the centre, one to the right on the right, one below lower', () => {
    const camera = cameraAt(
      { xM: 0, yM: 0, heightM: 2, bearingDeg: 0, downDeg: 0, rollDeg: 0, focalPx: 1000 },
      1601,
      1201,
    );
    expect(camera.project(0, 10, 2).point).toEqual([800, 600]);
    expect(camera.project(1, 10, 2).point[0]).toBeCloseTo(900, 9);
    expect(camera.project(0, 10, 1).point[1]).toBeCloseTo(700, 9);
  });
});
