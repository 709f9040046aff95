import 'server-only';
import { createHash } from 'node:crypto';
import sharp from 'sharp';
import { homographyFrom4 } from '../photo/homography';
import type { Polygon } from '../photo/pixels';
import { birdsEye } from '../photo/rectify';
import { decodePhoto } from './decode';
import { printPath, writePrintOnce, type PrintedPhoto } from './prints';
import { photoPath } from './shelf';

const longSidePx = 480;
const unknownAspect = 0.5;

/**
 * A plot of a photo drawn as from straight above, as a JPEG among the prints.
 * @param corners its outline in the photo: far-left, far-right, near-right, near-left
 * @param size its width and length on the ground, when known; without it the picture is half as wide as long
 * @returns the picture's path
 * @throws RangeError when the corners make no quadrilateral
 */
export async function abovePrint(dataFolder: string, photo: PrintedPhoto, corners: Polygon, size: { widthM: number; lengthM: number } | null): Promise<string> {
  const aspect = size === null ? unknownAspect : size.widthM / size.lengthM;
  const height = Math.round(aspect <= 1 ? longSidePx : longSidePx / aspect);
  const width = Math.round(aspect <= 1 ? longSidePx * aspect : longSidePx);
  const name = createHash('sha256').update(JSON.stringify([corners, width, height])).digest('hex').slice(0, 16);
  return writePrintOnce(printPath(dataFolder, photo.sha256, `above-${name}.jpg`), async () => {
    const toPhoto = homographyFrom4([[-0.5, -0.5], [width - 0.5, -0.5], [width - 0.5, height - 0.5], [-0.5, height - 0.5]], corners);
    if (toPhoto === null) throw new RangeError('corners: expected a quadrilateral, got corners in a line or crossing');
    const { pixels } = await decodePhoto(photoPath(dataFolder, photo.sha256, photo.kind));
    const picture = birdsEye(pixels, toPhoto, width, height);
    return sharp(picture.data, { raw: { width, height, channels: 3 } }).jpeg({ quality: 82 }).toBuffer();
  });
}
