import { interpolate, rgb } from 'culori';

/**
 * The colours of greenness maps: from straw (pale) over teal to midnight blue (dark green turf). Its lightness falls
 * evenly, so the order shows in grey and to every kind of colour vision.
 */
const ANCHORS = ['#fbf3c0', '#a9cf8c', '#3f9c8f', '#27618f', '#1d2460'];

const ramp = interpolate(ANCHORS, 'oklab');

/** @param share 0 (pale) .. 1 (dark); beyond either end the end's colour @returns R, G, B codes 0..255 */
export function greennessColour(share: number): readonly [r: number, g: number, b: number] {
  const colour = rgb(ramp(Math.min(1, Math.max(0, share))));
  return [codeOf(colour.r), codeOf(colour.g), codeOf(colour.b)];
}

function codeOf(channel: number): number {
  return Math.round(255 * Math.min(1, Math.max(0, channel)));
}
