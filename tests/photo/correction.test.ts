import { describe, expect, test } from 'vitest';
import { CHART_24 } from '../../lib/colour/chart-24';
import { differenceCiede2000 } from '../../lib/colour/ciede2000';
import { times, type Matrix3, type Vector3 } from '../../lib/colour/matrix';
import { linearToSrgb } from '../../lib/colour/srgb';
import { chartReference, fitChart, fromChart, fromCheckRatio, fromGreyCard } from '../../lib/photo/measure/correction';
import type { Pixels } from '../../lib/photo/raster/pixels';
import { rectangle } from './turf-scene';

describe('the 24-patch chart', () => {
  test('differs between its editions by 0.2 to 1.95 CIEDE2000, most for white', () => {
    // Range as computed from both tables found in public code bases (pre- and post-November 2014 values).
    const apart = CHART_24.map((patch) => differenceCiede2000(patch.lab['2005'], patch.lab['2014']));
    expect(Math.min(...apart)).toBeGreaterThan(0.15);
    expect(Math.max(...apart)).toBeCloseTo(1.95, 1);
    expect(apart.indexOf(Math.max(...apart))).toBe(18);
  });

  // The camera: a gain a channel and crosstalk between channels. Its inverse is what the fit must find.
  const camera: Matrix3 = [0.8, 0.06, 0.02, 0.04, 0.9, 0.05, 0.01, 0.08, 0.7];
  const seen = (edition: '2005' | '2014') =>
    chartReference(edition).map((linear) => ({ linear: times(camera, linear), clippedShare: 0 }));

  test.each(['2005', '2014'] as const)(
    'edition %s brings back its own table through a camera with crosstalk',
    (edition) => {
      const fit = fitChart(seen(edition), edition)!;
      expect(fit.residualDeltaE00).toBeLessThan(0.7);
      expect(fit.edition).toBe(edition);
    },
  );

  test('fits its own edition better than the other', () => {
    expect(fitChart(seen('2005'), '2005')!.residualDeltaE00).toBeLessThan(
      fitChart(seen('2005'), '2014')!.residualDeltaE00,
    );
  });

  test('keeps grey grey', () => {
    const reference = chartReference('2005');
    const { matrix } = fitChart(seen('2005'), '2005')!;
    const grey = times(matrix, times(camera, [0.2, 0.2, 0.2] as Vector3));
    for (const v of grey) expect(v).toBeCloseTo(0.2, 2);
    expect(reference[21]![1]).toBeCloseTo(0.19, 1);
  });

  test('leaves out clipped patches, and is refused with too few left', () => {
    const some = seen('2005').map((r, k) => (k === 18 || k === 15 ? { ...r, clippedShare: 0.5 } : r));
    expect(fitChart(some, '2005')!.clippedPatches).toBe(2);
    expect(
      fitChart(
        seen('2005').map((r) => ({ ...r, clippedShare: 1 })),
        '2005',
      ),
    ).toBeNull();
  });

  test.each([0, 1, 2, 3])('is read the same when its corners start %i corners further on', (turns) => {
    const photo = drawnChart();
    const corners = rectangle(30, 20, 210, 140);
    const turnedCorners = corners.map((_, i) => corners[(i + turns) % 4]!);
    const result = fromChart(photo, turnedCorners, '2005');
    expect('refused' in result ? result.refused : result.residualDeltaE00).toBeLessThan(0.7);
  });

  test('is refused when what lies there is no such chart', () => {
    const plain: Pixels = {
      width: 240,
      height: 160,
      channels: 3,
      space: 'srgb',
      data: new Uint8Array(240 * 160 * 3).fill(120),
    };
    expect(fromChart(plain, rectangle(30, 20, 210, 140), '2005')).toEqual({
      refused: expect.stringContaining('not used'),
    });
  });

  function drawnChart(): Pixels {
    const data = new Uint8Array(240 * 160 * 3).fill(20);
    const patches = seen('2005');
    for (let y = 20; y < 140; y++) {
      for (let x = 30; x < 210; x++) {
        const { linear } = patches[Math.floor((y - 20) / 30) * 6 + Math.floor((x - 30) / 30)]!;
        for (let c = 0; c < 3; c++)
          data[(y * 240 + x) * 3 + c] = Math.round(255 * linearToSrgb(Math.min(1, Math.max(0, linear[c]!))));
      }
    }
    return { width: 240, height: 160, channels: 3, space: 'srgb', data };
  }
});

const card = (at: (x: number) => number): Pixels => {
  const data = new Uint8Array(60 * 60 * 3);
  for (let i = 0; i < 60 * 60; i++)
    for (let c = 0; c < 3; c++)
      data[i * 3 + c] = Math.round(255 * linearToSrgb(Math.min(1, at(i % 60) * [1.1, 1, 0.8][c]!)));
  return { width: 60, height: 60, channels: 3, space: 'srgb', data };
};

describe('the grey card', () => {
  test('gives the gain that makes it 18% grey', () => {
    const result = fromGreyCard(
      card(() => 0.25),
      rectangle(5, 5, 55, 55),
    );
    if ('refused' in result) throw new Error(result.refused);
    const grey = times(result.matrix, [0.275, 0.25, 0.2]);
    for (const v of grey) expect(v).toBeCloseTo(0.18, 2);
  });

  test('is refused when light and shade meet on it, when overexposed, and outside the photo', () => {
    expect(
      fromGreyCard(
        card((x) => (x < 30 ? 0.25 : 0.1)),
        rectangle(5, 5, 55, 55),
      ),
    ).toEqual({ refused: expect.stringContaining('shade') });
    expect(
      fromGreyCard(
        card(() => 1.2),
        rectangle(5, 5, 55, 55),
      ),
    ).toEqual({ refused: expect.stringContaining('overexposed') });
    expect(
      fromGreyCard(
        card(() => 0.2),
        rectangle(5, 5, 155, 55),
      ),
    ).toEqual({ refused: expect.stringContaining('outside') });
  });
});

describe('the check alone', () => {
  const turf: Vector3 = [0.07, 0.15, 0.035];
  const taken = (later: Vector3): number[] => {
    const { matrix } = fromCheckRatio(turf, later);
    return later.map((v, c) => v * matrix[c * 4]!);
  };

  test('takes away nearly all of a strong cast and all of a brightness', () => {
    const [r, g, b] = taken([0.07 * 2, 0.15 * 1.5, 0.035 * 0.8]) as [number, number, number];
    expect(g).toBeCloseTo(0.15, 10);
    // ln(R/G) off by 0.29, ln(B/G) by -0.63: at most a twentieth is left.
    expect(Math.abs(Math.log(r / g / (0.07 / 0.15)))).toBeLessThan(0.29 / 20);
    expect(Math.abs(Math.log(b / g / (0.035 / 0.15)))).toBeLessThan(0.63 / 20);
  });

  test('leaves most of a small difference of colour, which is the check’s own', () => {
    const [r, g] = taken([0.07 * 1.03, 0.15, 0.035]) as [number, number, number];
    expect(Math.log(r / g / (0.07 / 0.15))).toBeGreaterThan(0.8 * Math.log(1.03));
  });
});
