import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { darkGreenColourIndex, rgbToHsb } from '@/lib/colour/greenness';
import { drawLawnPhoto } from '@/lib/demo/lawn-renderer';
import { demoScenario, type DemoPhoto } from '@/lib/demo/scenario';
import { type StripId } from '@/lib/demo/demo-facts';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';

const scenario = demoScenario();
/** The same photo by a camera of half the size: quicker to draw, the same view. */
function halved(photo: DemoPhoto): DemoPhoto {
  const [widthPx, heightPx] = [photo.widthPx / 2, photo.heightPx / 2];
  const half = ([x, y]: Point): Point => [
    (x - (photo.widthPx - 1) / 2) / 2 + (widthPx - 1) / 2,
    (y - (photo.heightPx - 1) / 2) / 2 + (heightPx - 1) / 2,
  ];
  const { A, B, C } = photo.plotCorners;
  return {
    ...photo,
    widthPx,
    heightPx,
    pose: { ...photo.pose, focalPx: photo.pose.focalPx / 2 },
    plotCorners: { A: A.map(half), B: B.map(half), C: C.map(half) },
  };
}

const drawnOn = (date: string, size: 'half' | 'full' = 'half'): { photo: DemoPhoto; pixels: Pixels } => {
  const found = scenario.photos.find(({ takenAtLocal }) => takenAtLocal.startsWith(date));
  if (!found) throw new Error(`no photo on ${date}`);
  const photo = size === 'half' ? halved(found) : found;
  return { photo, pixels: drawLawnPhoto(photo, scenario.strips) };
};

/** Corners clockwise as seen on the picture, y downwards. */
function insideConvex([x, y]: Point, corners: readonly Point[]): boolean {
  return corners.every(([ax, ay], i) => {
    const [bx, by] = corners[(i + 1) % corners.length] as Point;
    return (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0;
  });
}

/**
 * Dark green colour index of the mean hue, saturation and brightness over a strip: its own loop, apart from the
 * project's scoring.
 */
function stripDgci(pixels: Pixels, corners: readonly Point[]): number {
  const sum = { hue: 0, saturation: 0, brightness: 0, n: 0 };
  const [low, high] = [Math.min(...corners.map(([, y]) => y)), Math.max(...corners.map(([, y]) => y))];
  for (let y = Math.ceil(low); y <= high; y += 2) {
    for (let x = 0; x < pixels.width; x += 2) {
      if (!insideConvex([x, y], corners)) continue;
      const i = 3 * (y * pixels.width + x);
      const hsb = rgbToHsb(pixels.data[i] as number, pixels.data[i + 1] as number, pixels.data[i + 2] as number);
      if (hsb.hue === null) continue;
      sum.hue += hsb.hue;
      sum.saturation += hsb.saturation;
      sum.brightness += hsb.brightness;
      sum.n++;
    }
  }
  const index = darkGreenColourIndex({
    hue: sum.hue / sum.n,
    saturation: sum.saturation / sum.n,
    brightness: sum.brightness / sum.n,
  });
  if (!index || sum.n < 1000) throw new Error(`strip too small: ${sum.n} pixels`);
  return index.dgci;
}

const hash = ({ pixels }: { pixels: Pixels }) => createHash('sha256').update(pixels.data).digest('hex');

const againstCheck = ({ photo, pixels }: { photo: DemoPhoto; pixels: Pixels }, id: StripId) =>
  stripDgci(pixels, photo.plotCorners[id]) - stripDgci(pixels, photo.plotCorners.A);
const askedAgainstCheck = ({ photo }: { photo: DemoPhoto }, id: StripId) => photo.gainDgci[id] - photo.gainDgci.A;

describe('the drawn lawn', () => {
  const baseline = drawnOn('2026-04-13');

  test('the same photo drawn twice has the same bytes, another day has others', () => {
    const again = demoScenario();
    expect(hash({ pixels: drawLawnPhoto(halved(again.photos[0] as DemoPhoto), again.strips) })).toBe(hash(baseline));
    expect(hash(drawnOn('2026-04-15'))).not.toBe(hash(baseline));
  });

  // The drawn rise differs a little from the one asked for: blades spread the colour, the sward is uneven, and the
  // day's exposure and white balance bend the index. Over all nine later photos without haze and both strips the
  // largest gap was 0.0031 at full size and 0.0057 at half size, where blades are thinner than a pixel.
  const TOLERANCE = { full: 0.005, half: 0.007 };

  test('at full size, on the day of the largest response, the rise is the one asked for', () => {
    const [before, after] = [drawnOn('2026-04-13', 'full'), drawnOn('2026-04-30', 'full')];
    for (const id of ['B', 'C'] as const) {
      const rise = againstCheck(after, id) - againstCheck(before, id);
      const asked = askedAgainstCheck(after, id) - askedAgainstCheck(before, id);
      expect(Math.abs(rise - asked)).toBeLessThan(TOLERANCE.full);
    }
  });

  test.each(
    scenario.photos
      .filter(({ haze }, index) => index > 0 && !haze)
      .map(({ takenAtLocal }) => takenAtLocal.slice(0, 10)),
  )('on %s the sprayed strips rose against the check as the scenario says', (date) => {
    const later = drawnOn(date);
    for (const id of ['B', 'C'] as const) {
      const rise = againstCheck(later, id) - againstCheck(baseline, id);
      const asked = askedAgainstCheck(later, id) - askedAgainstCheck(baseline, id);
      expect(asked).toBeGreaterThan(0.012);
      expect(Math.abs(rise - asked)).toBeLessThan(TOLERANCE.half);
      expect(rise).toBeGreaterThan(0.01);
    }
    expect(againstCheck(later, 'C')).toBeGreaterThan(againstCheck(later, 'B'));
  });

  test('the haze takes colour out of strip C the day after the last round', () => {
    const { photo } = drawnOn('2026-05-09');
    const chroma = (haze: boolean) => {
      const shown = haze ? photo : { ...photo, haze: null };
      const pixels = drawLawnPhoto(shown, scenario.strips);
      let saturation = 0;
      let n = 0;
      const corners = photo.plotCorners.C;
      for (let y = 0; y < pixels.height; y += 3) {
        for (let x = 0; x < pixels.width; x += 3) {
          if (!insideConvex([x, y], corners)) continue;
          const i = 3 * (y * pixels.width + x);
          saturation += rgbToHsb(
            pixels.data[i] as number,
            pixels.data[i + 1] as number,
            pixels.data[i + 2] as number,
          ).saturation;
          n++;
        }
      }
      return saturation / n;
    };
    expect(photo.haze?.stripId).toBe('C');
    expect(chroma(true)).toBeLessThan(chroma(false) - 0.02);
  });
});
