import { describe, expect, test } from 'vitest';
import { lookAtQuality, sharpnessOf } from '@/lib/photo/measure/quality';
import { wholePhoto } from '@/lib/photo/raster/region';
import { seededRandom } from '@/lib/stats/random';
import type { Pixels } from '@/lib/photo/raster/pixels';
import { pictureOf } from '../support/pictures';

function grain(seed: number, blur: number, scale = 1): Pixels {
  const random = seededRandom(seed);
  let noise = Array.from({ length: 200 * 120 }, () => 60 + random.below(140));
  // Three running means one after the other are near enough to a Gaussian of standard deviation `blur`.
  for (let pass = 0; pass < 3; pass++) noise = runningMean(noise, blur);
  return pictureOf(200, 120, (x, y) => {
    const g = Math.min(255, Math.round((noise[y * 200 + x] as number) * scale));
    return [Math.round(g * 0.6), g, Math.round(g * 0.4)];
  });
}
function runningMean(values: readonly number[], reach: number): number[] {
  return values.map((_, i) => {
    let sum = 0;
    const row = i - (i % 200);
    for (let d = -reach; d <= reach; d++) sum += values[row + Math.min(199, Math.max(0, (i % 200) + d))] as number;
    return sum / (2 * reach + 1);
  });
}

const codes = (picture: Pixels) =>
  lookAtQuality(picture, [wholePhoto(picture.width, picture.height)]).map(({ code }) => code);

describe('cautions', () => {
  test('a sharp, well exposed plot gets none', () => expect(codes(grain(1, 0))).toEqual([]));
  test('a plot blurred along its rows is called blurred', () => expect(codes(grain(1, 5))).toContain('blurred'));
  test('a plot at the camera’s limit is called overexposed, with the share', () => {
    const [caution] = lookAtQuality(grain(1, 0, 2), [wholePhoto(200, 120)]).filter(({ code }) => code === 'clipped');
    expect(caution?.value).toBeGreaterThan(0.3);
    expect(caution?.sentence).toMatch(/Overexposed: \d+% /);
  });
  test('a plot in the dark is called dark', () => expect(codes(grain(1, 0, 0.15))).toContain('dark'));
  test('a plot of a few pixels is called small', () => {
    expect(
      lookAtQuality(grain(1, 0), [
        [
          [0, 0],
          [20, 0],
          [20, 20],
          [0, 20],
        ],
      ]).map(({ code }) => code),
    ).toContain('small-plot');
  });
  test('sharpness falls as blur grows', () => {
    const sharpness = [0, 1, 2, 3].map((blur) => sharpnessOf(grain(1, blur), [wholePhoto(200, 120)]) as number);
    for (let i = 1; i < sharpness.length; i++) expect(sharpness[i]).toBeLessThan((sharpness[i - 1] as number) - 0.05);
  });
  test('no outline, no caution', () => expect(lookAtQuality(grain(1, 0), [])).toEqual([]));
});
