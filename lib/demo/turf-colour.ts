import { darkGreenColourIndex, rgbToHsb } from '@/lib/colour/greenness';
import { linearToSrgb, srgbToLinear } from '@/lib/colour/srgb';

/** Linear-light sRGB, each 0..1. */
export type LinearRgb = readonly [r: number, g: number, b: number];

const PALE: LinearRgb = linear(104, 131, 58);
const DARK: LinearRgb = linear(30, 70, 38);

function linear(r: number, g: number, b: number): LinearRgb {
  return [srgbToLinear(r / 255), srgbToLinear(g / 255), srgbToLinear(b / 255)];
}

function mixed(t: number): LinearRgb {
  return [PALE[0] + t * (DARK[0] - PALE[0]), PALE[1] + t * (DARK[1] - PALE[1]), PALE[2] + t * (DARK[2] - PALE[2])];
}

function indexOf([r, g, b]: LinearRgb): number {
  const index = darkGreenColourIndex(rgbToHsb(255 * linearToSrgb(r), 255 * linearToSrgb(g), 255 * linearToSrgb(b)));
  if (index === null) throw new RangeError('turf colour: expected a colour with a hue, got a grey');
  return index.dgci;
}

/**
 * The dark green colour index of the demo's untreated turf, 0..1.
 * Exported so that drawn turf is measured against it.
 */
export const PALE_TURF_DGCI: number = indexOf(PALE);

/**
 * The colour of demo turf whose dark green colour index lies `gainDgci` above that of the pale turf, on the straight
 * line from pale to dark in linear light.
 * @param gainDgci 0 .. 0.24
 * @throws RangeError outside that range
 */
export function turfColour(gainDgci: number): LinearRgb {
  const most = indexOf(DARK) - PALE_TURF_DGCI;
  if (!(gainDgci >= 0 && gainDgci <= most))
    throw new RangeError(`gainDgci: expected a number from 0 to ${most.toFixed(3)}, got ${gainDgci}`);
  let [low, high] = [0, 1];
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (indexOf(mixed(middle)) - PALE_TURF_DGCI < gainDgci) low = middle;
    else high = middle;
  }
  return mixed((low + high) / 2);
}
