import 'server-only';
import { createHash } from 'node:crypto';
import sharp from 'sharp';
import { composeHomographies, homographyFrom4 } from '../photo/homography';
import type { Pixels, Point } from '../photo/pixels';
import { birdsEye } from '../photo/rectify';
import { once, printOf, printPath, type PrintedPhoto } from './prints';

export interface StripWish {
  /** Corners in pixels of the upright full-size photo: far-left, far-right, near-right, near-left. */
  readonly corners: readonly Point[];
  /** Width of the upright photo the corners were drawn in. */
  readonly photoWidthPx: number;
  /** Width and length on the ground, in any one unit; their ratio shapes the print. */
  readonly groundWidth: number;
  readonly groundLength: number;
  /** Pixels along the longer side. */
  readonly longPx: number;
}

/**
 * The path of a JPEG of one plot as seen from straight above, the near end at the bottom, without any metadata.
 * Taken from the photo's largest print: what lies far from the camera is soft, as it is in the photo.
 * @returns null when the corners are no quadrilateral
 */
export async function stripPrint(dataFolder: string, photo: PrintedPhoto, wish: StripWish): Promise<string | null> {
  const { corners, groundWidth, groundLength, longPx } = wish;
  const scale = longPx / Math.max(groundWidth, groundLength);
  const [width, height] = [Math.max(8, Math.round(groundWidth * scale)), Math.max(8, Math.round(groundLength * scale))];
  const frame: Point[] = [[-0.5, -0.5], [width - 0.5, -0.5], [width - 0.5, height - 0.5], [-0.5, height - 0.5]];
  const toPhoto = homographyFrom4(frame, corners);
  if (!toPhoto) return null;
  const name = createHash('sha256').update(JSON.stringify([corners, width, height])).digest('hex').slice(0, 16);
  return once(printPath(dataFolder, photo.sha256, `strip-${name}.jpg`), async () => {
    const { data, info } = await sharp(await printOf(dataFolder, photo, 1600)).raw().toBuffer({ resolveWithObject: true });
    const pixels: Pixels = { width: info.width, height: info.height, channels: 3, space: 'srgb', data: new Uint8Array(data.buffer, data.byteOffset, data.length) };
    const shrink = info.width / wish.photoWidthPx;
    // Pixel centres lie at whole numbers: shrinking about the photo's corner at -0.5.
    const toPrint = composeHomographies([shrink, 0, (shrink - 1) / 2, 0, shrink, (shrink - 1) / 2, 0, 0, 1], toPhoto);
    const seen = birdsEye(pixels, toPrint, width, height);
    return sharp(seen.data, { raw: { width, height, channels: 3 } }).jpeg({ quality: 85 }).toBuffer();
  });
}
