/**
 * sRGB after IEC 61966-2-1:1999 with its amendment 1: coded values 0..1 to linear light 0..1 and back.
 * The constants 0.04045, 0.0031308, 12.92, 1.055 and 2.4 are those the standard prints.
 */

/** Linear light 0..1 of a coded value 0..1. Example: srgbToLinear(128 / 255) is 0.2158605. */
export function srgbToLinear(coded: number): number {
  return coded <= 0.04045 ? coded / 12.92 : ((coded + 0.055) / 1.055) ** 2.4;
}

/** Coded value 0..1 of linear light 0..1. */
export function linearToSrgb(linear: number): number {
  return linear <= 0.0031308 ? linear * 12.92 : 1.055 * linear ** (1 / 2.4) - 0.055;
}

/** Linear light of each of the 256 codes. */
export const LINEAR_OF_CODE: Float64Array = Float64Array.from({ length: 256 }, (_, code) => srgbToLinear(code / 255));
