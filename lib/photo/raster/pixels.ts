/**
 * The one image type of the science code: a decoded photo, upright, in sRGB.
 * `data` is row-major, three bytes a pixel (R, G, B), length width * height * 3.
 */
export interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly channels: 3;
  readonly space: 'srgb';
  readonly data: Uint8Array;
}

/**
 * A point in a photo, in pixels of the upright full-size photo: x to the right, y downwards,
 * whole numbers at pixel centres (so the photo spans -0.5 .. width - 0.5).
 */
export type Point = readonly [x: number, y: number];

/** A closed polygon in a photo, three corners or more, not repeating the first. */
export type Polygon = readonly Point[];
