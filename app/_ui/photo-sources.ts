import { PRINT_WIDTHS } from '@/lib/photo/raster/print-width';

/** Longer sides of the pictures that a photo is shown by: a phone, a desktop. */
const SIDES = PRINT_WIDTHS.slice(1);

/**
 * What a browser may pick from to show a photo, by how wide it shows it.
 * @param shown how wide, as CSS says it; a photo that is enlarged is shown wider
 */
export function photoSources(
  photoId: string,
  widthPx: number,
  heightPx: number,
  shown: string,
): { src: string; srcSet: string; sizes: string } {
  const address = (side: number) => `/api/photos/${photoId}?width=${side}`;
  // Pictures are as wide as the photo's shape lets them be, and never wider than the photo.
  const widths = SIDES.map((side) => ({
    side,
    width: Math.round(widthPx * Math.min(1, side / Math.max(widthPx, heightPx))),
  }));
  const each = widths.filter(({ width }, at) => widths.findIndex((one) => one.width === width) === at);
  return {
    src: address(SIDES.at(-1)!),
    srcSet: each.map(({ side, width }) => `${address(side)} ${width}w`).join(', '),
    sizes: shown,
  };
}
