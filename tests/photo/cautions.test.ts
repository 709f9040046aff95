import { describe, expect, test } from 'vitest';
import {
  cardTemperatureK,
  circumstanceCautions,
  type PhotoCircumstances,
  findStripes,
  isDoubt,
  stripeCaution,
  viewCaution,
} from '../../lib/photo/cautions';
import { findNotTurf } from '../../lib/photo/raster/not-turf';
import { cellsToPhoto, plotFrame } from '../../lib/photo/plot-frame';
import { rectifyLinear } from '../../lib/photo/ground/rectify';
import { drawnLawn, paintRectangle, photograph, random, rectangle } from './turf-scene';

const UNKNOWN: PhotoCircumstances = {
  sunElevationDeg: null,
  sunAzimuthDeg: null,
  camera: null,
  hoursSinceWater: null,
  mownSinceBaseline: null,
};

const corners = rectangle(10, 10, 250, 250);
const seenFromAbove = (
  light: (x: number, y: number) => number,
  change: (lawn: ReturnType<typeof drawnLawn>) => void = () => undefined,
) => {
  const lawn = drawnLawn(260, 260, random('cautions'));
  change(lawn);
  const frame = plotFrame(corners);
  return {
    raster: rectifyLinear(photograph(lawn, [1, 1, 1], light), cellsToPhoto(frame, corners), frame.width, frame.height),
    toPhoto: cellsToPhoto(frame, corners),
  };
};

describe('mowing stripes', () => {
  test.each([
    [0, 0],
    [90, 90],
    [30, 30],
  ])('running %i degrees to the width are found with their direction and strength', (directionDeg) => {
    const turn = (directionDeg * Math.PI) / 180;
    const { raster } = seenFromAbove((x, y) =>
      Math.exp(0.2 * Math.sin((-Math.sin(turn) * x + Math.cos(turn) * y) / 9)),
    );
    const found = findStripes(raster);
    expect(Math.abs(((found.directionDeg - directionDeg + 270) % 180) - 90)).toBeLessThanOrEqual(5);
    expect(found.amplitude).toBeGreaterThan(0.1);
    expect(found.amplitude).toBeLessThan(0.3);
    expect(stripeCaution([raster])?.code).toBe('mowing-stripes');
  });

  test('an unstriped lawn gets no caution', () => {
    expect(stripeCaution([seenFromAbove(() => 1).raster])).toBeNull();
  });
});

describe('circumstances', () => {
  test('nothing known, nothing said', () => {
    expect(circumstanceCautions(UNKNOWN, UNKNOWN)).toEqual([]);
  });

  test('a lawn that is mown every week is not doubtful every week: mowing is said, a wet leaf makes a doubt', () => {
    expect(isDoubt('mown-since')).toBe(false);
    expect(isDoubt('wet-leaf')).toBe(true);
  });

  test('low sun, wet leaf, mown, another sun and another camera each give a sentence', () => {
    const baseline = { ...UNKNOWN, sunElevationDeg: 50, sunAzimuthDeg: 350, camera: 'one' };
    const now = {
      sunElevationDeg: 12,
      sunAzimuthDeg: 80,
      camera: 'two',
      hoursSinceWater: 1.5,
      mownSinceBaseline: true,
    };
    const cautions = circumstanceCautions(now, baseline);
    expect(cautions.map((c) => c.code)).toEqual(['low-sun', 'wet-leaf', 'mown-since', 'unlike-sun', 'unlike-camera']);
    // 350 to 80 degrees is 90 round north.
    expect(cautions[3]!.value).toBe(90);
  });

  test('a sun under the horizon asks whether the clock is right', () => {
    const [caution, ...more] = circumstanceCautions({ ...UNKNOWN, sunElevationDeg: -13.4 }, null);
    expect(more).toEqual([]);
    expect(caution).toMatchObject({
      code: 'low-sun',
      value: -13.4,
      sentence: expect.stringMatching(/^By its time the sun stood 13° under the horizon\. .*clock is wrong/) as string,
    });
  });

  test('a photo from twice as near is said to be from elsewhere', () => {
    expect(viewCaution(rectangle(0, 0, 100, 100), rectangle(0, 0, 200, 200))?.value).toBeCloseTo(2);
    expect(viewCaution(rectangle(0, 0, 100, 100), rectangle(5, 5, 110, 108))).toBeNull();
  });
});

test('the white of sRGB is 6504 K within the 10 K of the cubic (McCamy 1992), and warmer light is lower', () => {
  expect(Math.abs(cardTemperatureK([1, 1, 1]) - 6504)).toBeLessThan(10);
  expect(cardTemperatureK([1.2, 1, 0.6])).toBeLessThan(5000);
});

describe('what is not turf', () => {
  test('a concrete path inside the outline is reported with its place and share', () => {
    const { raster, toPhoto } = seenFromAbove(
      () => 1,
      (lawn) => paintRectangle(lawn, [0, 190, 260, 260], [5, 1.9, 9]),
    );
    const found = findNotTurf(raster, toPhoto);
    expect(found.share).toBeGreaterThan(0.2);
    expect(found.share).toBeLessThan(0.3);
    expect(found.parts.map((p) => p.what)).toEqual(['not-green']);
    expect(Math.min(...found.parts[0]!.polygon.map(([, y]) => y))).toBeGreaterThan(180);
    expect(found.sentence).toContain('not turf');
  });

  test('a lawn with stripes of light is all turf', () => {
    const { raster, toPhoto } = seenFromAbove((x) => 1 + 0.15 * Math.sign(Math.sin(x / 12)));
    expect(findNotTurf(raster, toPhoto)).toMatchObject({ share: 0, sentence: null });
  });
});
