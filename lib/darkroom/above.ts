import 'server-only';
import { createHash } from 'node:crypto';
import sharp from 'sharp';
import { composeHomographies, homographyFrom4, type Homography } from '../photo/ground/homography';
import type { Pixels, Polygon } from '../photo/raster/pixels';
import { birdsEye } from '../photo/ground/rectify';
import { printOf, printPath, writePrintOnce, type PrintedPhoto } from './prints';

const longSidePx = 480;
const unknownAspect = 0.5;

/** How large the picture of a plot from above is, pixels. */
export function abovePixels(size: { widthM: number; lengthM: number } | null): { width: number; height: number } {
  const aspect = size === null ? unknownAspect : size.widthM / size.lengthM;
  return {
    width: Math.round(aspect <= 1 ? longSidePx * aspect : longSidePx),
    height: Math.round(aspect <= 1 ? longSidePx : longSidePx / aspect),
  };
}

/**
 * A plot of a photo drawn as from straight above, as a JPEG among the prints. Drawn from the photo's largest print,
 * which is at hand: a film strip asks for many plots of many photos, and decoding each photo anew for each would take
 * minutes.
 * @param corners its outline in the photo: far-left, far-right, near-right, near-left
 * @param photoWidthPx width of the upright photo the corners were drawn in
 * @param size its width and length on the ground, when known; without it the picture is half as wide as long
 * @returns the picture's path
 * @throws RangeError when the corners make no quadrilateral
 */
export async function abovePrint(
  dataFolder: string,
  photo: PrintedPhoto,
  photoWidthPx: number,
  corners: Polygon,
  size: { widthM: number; lengthM: number } | null,
): Promise<string> {
  const { width, height } = abovePixels(size);
  const name = createHash('sha256')
    .update(JSON.stringify([corners, width, height]))
    .digest('hex')
    .slice(0, 16);
  return writePrintOnce(printPath(dataFolder, photo.sha256, `above-${name}.jpg`), async () => {
    const toPhoto = homographyFrom4(
      [
        [-0.5, -0.5],
        [width - 0.5, -0.5],
        [width - 0.5, height - 0.5],
        [-0.5, height - 0.5],
      ],
      corners,
    );
    if (toPhoto === null) throw new RangeError('corners: expected a quadrilateral, got corners in a line or crossing');
    const { data, info } = await sharp(await printOf(dataFolder, photo, 1600))
      .removeAlpha()
      .raw()
      .toBuffer({ resolveWithObject: true });
    const print: Pixels = {
      width: info.width,
      height: info.height,
      channels: 3,
      space: 'srgb',
      data: new Uint8Array(data.buffer, data.byteOffset, data.length),
    };
    const picture = birdsEye(print, composeHomographies(shrinkTo(info.width / photoWidthPx), toPhoto), width, height);
    return sharp(picture.data, { raw: { width, height, channels: 3 } })
      .jpeg({ quality: 82 })
      .toBuffer();
  });
}

/** From pixels of the photo to those of a print `share` as wide; centres lie at whole numbers, the corner at -0.5. */
function shrinkTo(share: number): Homography {
  const shift = (share - 1) / 2;
  return [share, 0, shift, 0, share, shift, 0, 0, 1];
}
