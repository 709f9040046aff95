import { linearRgbToLab, type Lab } from '@/lib/colour/cielab';
import { srgbToLinear } from '@/lib/colour/srgb';

/** L*a*b* (D65) of 8-bit sRGB. */
export function labOfCode([r, g, b]: readonly [number, number, number]): Lab<'d65'> {
  return linearRgbToLab(srgbToLinear(r / 255), srgbToLinear(g / 255), srgbToLinear(b / 255));
}
