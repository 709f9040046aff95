import type { Homography } from '../ground/homography';

/**
 * A plane-to-plane map as CSS `matrix3d(…)` for an element whose own pixels are the map's source coordinates
 * (transform origin at its top left corner).
 * @see CSS Transforms Module Level 2, matrix3d(): column by column, the third axis left alone
 */
export function cssMatrix3d(h: Homography): string {
  const [a, b, c, d, e, f, g, i, j] = h;
  return `matrix3d(${[a, d, 0, g, b, e, 0, i, 0, 0, 1, 0, c, f, 0, j].map((x) => Number((x as number).toPrecision(12))).join(', ')})`;
}
