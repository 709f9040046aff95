import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { darkGreenColourIndex, rgbToHsb } from '@/lib/colour/greenness';
import { blocksTouched } from '@/lib/photo/measure/blocks-touched';
import { blockGrid, cutIntoBlocks } from '@/lib/photo/measure/blocks';
import { indexDifference } from '@/lib/photo/measure/interval';
import { greennessMap } from '@/lib/photo/measure/greenness-map';
import { DEFAULT_PARAMETERS, dgciBlocks, measurePlots, METHOD_VERSION, totalSums } from '@/lib/photo/measure/measure';
import type { Pixels, Point, Polygon } from '@/lib/photo/raster/pixels';
import { regionOf, wholePhoto } from '@/lib/photo/raster/region';
import { seededRandom } from '@/lib/stats/random';
import { expectClose } from '../support/close';
import { oraclePatch, pictureOf } from '../support/pictures';

const whole = (pixels: Pixels) =>
  measurePlots(pixels, [{ id: 'all', polygon: wholePhoto(pixels.width, pixels.height) }])[0]!;

describe('a patch of all sorts of colours', () => {
  // Oracle: /usr/bin/python3, numpy 1.24.2, on the same picture (tests/support/pictures.ts), with the default mask
  // widened by 1e-4 degrees and 1e-6 of saturation, as their hue and saturation are rounded and 8 pixels lie right on
  // its border.
  //   cv2 4.6.0:      cv2.cvtColor(rgb.astype(float32) / 255, cv2.COLOR_RGB2HSV)
  //   skimage 0.19.3: skimage.color.rgb2hsv(rgb / 255), xyz2lab(rgb2xyz(sRGB of the mean linear light))
  const reading = whole(oraclePatch());
  const { greenness } = reading;

  test('has the turf pixels OpenCV and scikit-image find', () => {
    expect(reading.pixels).toBe(3072);
    expect(reading.turfPixels).toBe(2289);
    expectClose('share', reading.turfShare, 2289 / 3072, 1e-12);
  });

  test('has the mean hue, saturation, brightness and DGCI of OpenCV and of scikit-image', () => {
    expectClose('hue, cv2', greenness?.hue, 88.717702, 5e-5);
    expectClose('hue, skimage', greenness?.hue, 88.717694, 1e-6);
    expectClose('saturation', greenness?.saturation, 0.557166, 1e-6);
    expectClose('brightness', greenness?.brightness, 0.503013, 1e-6);
    expectClose('DGCI, cv2', greenness?.dgci, 0.472817, 2e-6);
    expectClose('DGCI, skimage', greenness?.dgci, 0.472816, 1e-6);
  });

  test('has the standard deviation of the pixels’ DGCI', () =>
    expectClose('sd', greenness?.dgciPixelSd, 0.144569, 1e-6));

  test('has the mean light, its L*a*b* and the indices of the mean codes', () => {
    [0.11610783, 0.22419629, 0.04701723].forEach((value, i) =>
      expectClose(`light ${i}`, greenness?.linearRgb[i], value, 5e-8),
    );
    // scikit-image's matrix has six decimals and its white is rounded: 0.03, as for single colours.
    expectClose('L', greenness?.lab.L, 50.502, 0.03);
    expectClose('a', greenness?.lab.a, -24.782, 0.03);
    expectClose('b', greenness?.lab.b, 33.171, 0.03);
    expectClose('NGRDI', greenness?.ngrdi, 0.155136372, 1e-9);
    expectClose('GLI', greenness?.gli, 0.259972876, 1e-9);
    expectClose('ExG', greenness?.exg, 0.37951869, 1e-9);
    expectClose('VARI', greenness?.vari, 0.208522538, 1e-9);
  });

  test('is told with the method and every parameter', () => {
    expect(reading.methodVersion).toBe(METHOD_VERSION);
    expect(reading.parameters).toEqual(DEFAULT_PARAMETERS);
  });
});

const code = fc.integer({ min: 0, max: 255 });

describe('one pass', () => {
  test('gives for one colour what the formula gives', () => {
    fc.assert(
      fc.property(code, code, code, (r, g, b) => {
        const { greenness, turfShare } = whole(pictureOf(8, 8, () => [r, g, b]));
        const hsb = rgbToHsb(r, g, b);
        const isTurf = hsb.hue !== null && hsb.hue >= 45 && hsb.hue <= 140 && hsb.saturation >= 0.1;
        expect(turfShare).toBe(isTurf ? 1 : 0);
        expect(greenness === null).toBe(!isTurf);
        const wanted = isTurf ? darkGreenColourIndex(hsb) : null;
        // The fast kernel adds 32-bit floats: 1e-7 of a mean; and a sum of squares less a squared mean, where the
        // spread is nothing, leaves the root of that. Turf's own spread is 0.05 and more, of which it is a
        // ten-thousandth.
        expectClose('DGCI', greenness?.dgci ?? 0, wanted?.dgci ?? 0, 5e-7);
        expectClose('sd', greenness?.dgciPixelSd ?? 0, 0, 1e-3);
        // Exactly on an end of the formula's range (a hue of 60 or 120, an index of 0 or 1) those floats may fall to
        // either side.
        const onAnEnd =
          wanted !== null &&
          [(hsb.hue! - 60) / 60, (hsb.hue! - 120) / 60, wanted.dgci, wanted.dgci - 1].some(
            (off) => Math.abs(off) < 1e-6,
          );
        expect(onAnEnd || (greenness?.extrapolated ?? false) === (wanted?.extrapolated ?? false)).toBe(true);
      }),
      { numRuns: 300 },
    );
  });

  test('takes a hue of exactly 45 and of exactly 140, and a saturation of exactly 0.10', () => {
    expect(whole(pictureOf(8, 8, () => [200, 190, 160])).turfShare).toBe(1); // hue 45, saturation 0.2
    expect(whole(pictureOf(8, 8, () => [40, 100, 60])).turfShare).toBe(1); // hue 140
    expect(whole(pictureOf(8, 8, () => [180, 200, 180])).turfShare).toBe(1); // saturation 0.1
    expect(whole(pictureOf(8, 8, () => [181, 200, 181])).turfShare).toBe(0); // saturation 0.095
  });

  test('gives a hue mask that lies beyond blue what the formula gives', () => {
    fc.assert(
      fc.property(code, code, code, (r, g, b) => {
        const picture = pictureOf(8, 8, () => [r, g, b]);
        const parameters = { ...DEFAULT_PARAMETERS, hueFromDeg: 200, hueToDeg: 359, saturationFrom: 0.2 };
        const [reading] = measurePlots(picture, [{ id: 'x', polygon: wholePhoto(8, 8) }], parameters);
        const { hue, saturation } = rgbToHsb(r, g, b);
        expect(reading?.turfShare).toBe(hue !== null && hue >= 200 && hue <= 359 && saturation >= 0.2 ? 1 : 0);
        expectClose('hue', reading?.greenness?.hue ?? hue ?? 0, hue ?? 0, 1e-9);
      }),
    );
  });

  test('gives DGCI as the mean of the pixels’, as the index is linear', () => {
    const { greenness } = whole(oraclePatch());
    expectClose('mean', greenness?.dgciPixelMean, greenness?.dgci as number, 1e-12);
  });

  test('is the same however the plot is cut into blocks', () => {
    const picture = oraclePatch();
    const polygon: Polygon = [
      [10.2, 5.1],
      [50.7, 8.3],
      [55.4, 40.6],
      [6.9, 38.2],
    ];
    const [one] = measurePlots(picture, [{ id: 'p', polygon }], { ...DEFAULT_PARAMETERS, blocksAcrossWidth: 1 });
    const [many] = measurePlots(picture, [{ id: 'p', polygon }], { ...DEFAULT_PARAMETERS, blocksAcrossWidth: 7 });
    totalSums(many!.blocks.sums).forEach((sum, i) =>
      expectClose(`sum ${i}`, sum, totalSums(one!.blocks.sums)[i] as number, 3e-7 * (1 + sum)),
    );
  });

  test('leaves out what a mask marks', () => {
    const picture = pictureOf(20, 20, (x) => (x < 10 ? [60, 100, 40] : [120, 140, 60]));
    const leaveOut = { width: 2, height: 1, data: Uint8Array.of(0, 1) };
    const [reading] = measurePlots(picture, [{ id: 'left', polygon: wholePhoto(20, 20), leaveOut }]);
    expect(reading?.pixels).toBe(200);
    expectClose('DGCI', reading?.greenness?.dgci, 0.55817, 1e-5);
  });

  test('finds no turf in grey, snow or soil, and says so rather than 0', () => {
    for (const colour of [
      [128, 128, 128],
      [250, 250, 252],
      [110, 80, 60],
    ] as const) {
      const reading = whole(pictureOf(16, 16, () => colour));
      expect([reading.turfShare, reading.greenness, reading.ci95]).toEqual([0, null, null]);
    }
  });
});

const near = (x: number, y: number) =>
  fc
    .tuple(fc.double({ min: -9, max: 9, noNaN: true }), fc.double({ min: -9, max: 9, noNaN: true }))
    .map(([dx, dy]): Point => [x + dx, y + dy]);

/** Turf in squares of one tone each. */
function speckled(size: number): Pixels {
  const random = seededRandom(size);
  const tones = Array.from({ length: 128 * 128 }, () => random.below(60));
  return pictureOf(128, 128, (x, y) => [
    40 + (tones[Math.floor(y / size) * 128 + Math.floor(x / size)] as number),
    110,
    30,
  ]);
}

function intervalWidth(picture: Pixels): number {
  const { ci95 } = whole(picture);
  return (ci95?.high as number) - (ci95?.low as number);
}

test('two plots of which one shows turf in a single block differ by their means, without an interval', () => {
  const many = Array.from({ length: 8 }, () => ({ count: 10, sum: 4 }));
  const one = [...many.map(() => ({ count: 0, sum: 0 })), { count: 5, sum: 2.5 }];
  const { difference, low, high } = indexDifference(one, many, DEFAULT_PARAMETERS)!;
  expectClose('difference', difference, 0.5 - 0.4, 1e-12);
  expect([low, high]).toEqual([null, null]);
});

describe('blocks', () => {
  test('hold every pixel of the plot once, in any quadrilateral', () => {
    fc.assert(
      fc.property(
        near(12, 10),
        near(50, 12),
        near(48, 38),
        near(10, 36),
        fc.integer({ min: 1, max: 6 }),
        (a, b, c, d, across) => {
          const region = regionOf([a, b, c, d], 64, 48);
          const pieces = cutIntoBlocks(region, blockGrid([a, b, c, d], undefined, across, 0.2));
          let count = 0;
          for (let i = 0; i < pieces.length; i += 4) count += pieces[i + 2]! - pieces[i + 1]!;
          expect(count).toBe(region.pixelCount);
        },
      ),
    );
  });

  /** 40 by 80 pixels. */
  const polygon: Polygon = [
    [-0.5, -0.5],
    [39.5, -0.5],
    [39.5, 79.5],
    [-0.5, 79.5],
  ];

  test('of an upright rectangle are equal rectangles', () => {
    const grid = blockGrid(polygon, undefined, 4, 0.2);
    const pieces = cutIntoBlocks(regionOf(polygon, 64, 100), grid);
    const counts = Array.from({ length: grid.across * grid.along }, () => 0);
    for (let i = 0; i < pieces.length; i += 4) counts[pieces[i + 3]!]! += pieces[i + 2]! - pieces[i + 1]!;
    expect([grid.across, grid.along]).toEqual([4, 8]);
    expect(counts).toEqual(Array.from({ length: 32 }, () => 100));
  });

  test('that a patch touches are told from those it doesn’t, by the pixel', () => {
    const box = (x0: number, y0: number, x1: number, y1: number): Polygon => [
      [x0 - 0.5, y0 - 0.5],
      [x1 + 0.5, y0 - 0.5],
      [x1 + 0.5, y1 + 0.5],
      [x0 - 0.5, y1 + 0.5],
    ];
    const touched = (...patches: Polygon[]) =>
      [...blocksTouched(polygon, { across: 4, along: 8 }, patches, { width: 64, height: 100 })].sort((a, b) => a - b);
    // Blocks of 10 by 10 pixels, four in a row.
    expect(touched(box(10, 0, 19, 9))).toEqual([1]);
    expect(touched(box(10, 0, 20, 9))).toEqual([1, 2]);
    expect(touched(box(9, 9, 9, 9), box(30, 70, 39, 79))).toEqual([0, 31]);
    expect(touched(box(8, 8, 11, 11))).toEqual([0, 1, 4, 5]);
    expect(touched()).toEqual([]);
    // Whatever of a patch lies beside the plot touches none of it.
    expect(touched(box(41, 0, 60, 60))).toEqual([]);
  });

  test('are a quarter of a strip wide on the ground, and never under 0.2 m', () => {
    const outline: Polygon = [
      [300, 100],
      [500, 100],
      [700, 700],
      [100, 700],
    ];
    const wide = blockGrid(
      outline,
      [
        [0, 3],
        [1.2, 3],
        [1.2, 0],
        [0, 0],
      ],
      4,
      0.2,
    );
    expect([wide.across, wide.along]).toEqual([4, 10]);
    const slim = blockGrid(
      outline,
      [
        [0, 3],
        [0.5, 3],
        [0.5, 0],
        [0, 0],
      ],
      4,
      0.2,
    );
    expect([slim.across, slim.along, slim.blockAcrossM]).toEqual([2, 15, 0.25]);
  });
});

describe('the interval', () => {
  test('is never narrower than what one photo can’t know: 1.96 x 0.0045 either side', () => {
    const { ci95, greenness } = whole(pictureOf(64, 64, () => [60, 100, 40]));
    expectClose('low', ci95?.low, (greenness?.dgci as number) - 1.959964 * 0.0045, 1e-9);
    expectClose('high', ci95?.high, (greenness?.dgci as number) + 1.959964 * 0.0045, 1e-9);
  });

  test('is none with turf in fewer than 8 blocks', () => {
    // Turf in the top left corner alone: 2 of 4 x 4 blocks down, 2 across.
    const reading = whole(pictureOf(64, 64, (x, y) => (x < 32 && y < 24 ? [60, 100, 40] : [128, 128, 128])));
    expect(reading.greenness).not.toBeNull();
    expect(reading.ci95).toBeNull();
  });

  test('gets wider as neighbouring pixels get more alike', () => {
    expect(intervalWidth(speckled(32))).toBeGreaterThan(1.5 * intervalWidth(speckled(4)));
  });

  test('is the same each time', () => expect(whole(oraclePatch()).ci95).toEqual(whole(oraclePatch()).ci95));
});

describe('the map', () => {
  test('of one colour is that colour’s DGCI, of grey nothing', () => {
    const map = greennessMap(
      pictureOf(40, 24, (x) => (x < 20 ? [60, 100, 40] : [128, 128, 128])),
      10,
    );
    expect([map.columns, map.rows]).toEqual([4, 3]);
    expectClose('turf', map.dgci[0], 0.55817, 1e-5);
    expect(map.dgci[3]).toBeNaN();
  });

  test('has the plot’s index as its mean over equal cells, when every row is looked at', () => {
    const picture = pictureOf(64, 48, (x, y) => [60 + ((x + y) % 7), 110 + (x % 5), 40 + (y % 9)]);
    const map = greennessMap(picture, 8, DEFAULT_PARAMETERS, 8);
    const mean = map.dgci.reduce((sum, value) => sum + value, 0) / map.dgci.length;
    expectClose('mean', mean, whole(picture).greenness?.dgci as number, 1e-6); // cells are kept as 32-bit floats
  });
});

test('block sums give back the plot’s index', () => {
  const reading = whole(oraclePatch());
  const blocks = dgciBlocks(reading.blocks.sums);
  const count = blocks.reduce((sum, block) => sum + block.count, 0);
  expect(count).toBe(reading.turfPixels);
  expectClose(
    'index',
    blocks.reduce((sum, block) => sum + block.sum, 0) / count,
    reading.greenness?.dgci as number,
    1e-12,
  );
});

describe('a plot that leaves the photo', () => {
  const picture = pictureOf(64, 64, (x, y) => [60 + ((x + y) % 7), 110, 40]);
  const slid = (by: number): Polygon => [
    [20 + by, 10],
    [50 + by, 10],
    [50 + by, 60],
    [20 + by, 60],
  ];

  test('is measured as long as 98 % of it lies in the picture', () => {
    // 30 wide: 0.5 beyond the border at 63.5 is 1.7 %.
    const [reading] = measurePlots(picture, [{ id: 'in', polygon: slid(14) }]);
    expectClose('in picture', reading?.inPicture, 29.5 / 30, 0.02);
    expect(reading?.greenness).not.toBeNull();
  });

  test.each([
    [20, 23.5 / 30],
    [200, 0],
  ])('has no index and no interval when moved out by %i pixels, and says how much is seen', (by, share) => {
    const [reading] = measurePlots(picture, [{ id: 'out', polygon: slid(by) }]);
    expectClose('in picture', reading?.inPicture, share, 0.03);
    expect([
      reading?.greenness,
      reading?.ci95,
      dgciBlocks(reading!.blocks.sums).every((block) => block.count === 0),
    ]).toEqual([null, null, true]);
  });
});
