import 'server-only';
import { createHash } from 'node:crypto';
import sharp from 'sharp';
import { composeHomographies, homographyFrom4, type Homography } from '../photo/ground/homography';
import type { Pixels, Polygon } from '../photo/raster/pixels';
import { cutCorners, type CutFrame } from '../photo/plot-cut';
import { birdsEye } from '../photo/ground/rectify';
import { printOf, printPath, writePrintOnce, type PrintedPhoto } from './prints';

export interface PlotToCut {
  /** Its outline in the photo: far-left, far-right, near-right, near-left. */
  readonly corners: Polygon;
  readonly frame: CutFrame;
}

export interface CutRequest {
  readonly dataFolder: string;
  readonly photo: PrintedPhoto;
  /** Width of the upright photo the corners were drawn in. */
  readonly photoWidthPx: number;
  readonly plots: readonly PlotToCut[];
}

/**
 * A page shows dozens of them, on a phone outdoors too.
 * Exported so that cut-outs are weighed against it.
 */
export const CUT_OUT_BYTES = 15_000;

/** What a cut-out is called: the same outline and frame, the same picture, for good. */
export function cutKey({ corners, frame }: PlotToCut): string {
  return createHash('sha256')
    .update(JSON.stringify(['cut-1', corners, frame]))
    .digest('hex')
    .slice(0, 16);
}

export const cutPath = (dataFolder: string, photo: PrintedPhoto, plot: PlotToCut): string =>
  printPath(dataFolder, photo.sha256, `cut-${cutKey(plot)}.jpg`);

/**
 * Cuts plots out of a photo as seen from straight above, small JPEGs among its prints; those that are there already
 * stay. All from the photo's largest print, opened once.
 */
export async function makeCuts({ dataFolder, photo, photoWidthPx, plots }: CutRequest): Promise<void> {
  let print: Pixels | null = null;
  const opened = async (): Promise<Pixels> => {
    if (print === null) {
      const { data, info } = await sharp(await printOf(dataFolder, photo, 1600))
        .removeAlpha()
        .raw()
        .toBuffer({ resolveWithObject: true });
      print = {
        width: info.width,
        height: info.height,
        channels: 3,
        space: 'srgb',
        data: new Uint8Array(data.buffer, data.byteOffset, data.length),
      };
    }
    return print;
  };
  for (const plot of plots) {
    const { width, height, turned } = plot.frame;
    const toPhoto = homographyFrom4(
      [
        [-0.5, -0.5],
        [width - 0.5, -0.5],
        [width - 0.5, height - 0.5],
        [-0.5, height - 0.5],
      ],
      cutCorners(plot.corners, turned),
    );
    // Corners in a line make no picture; the page says that there is none.
    if (toPhoto === null) continue;
    await writePrintOnce(cutPath(dataFolder, photo, plot), async () => {
      const from = await opened();
      const picture = birdsEye(from, composeHomographies(shrinkTo(from.width / photoWidthPx), toPhoto), width, height);
      return smallJpeg(picture);
    });
  }
}

/** The best quality that stays within the bytes. */
async function smallJpeg({ data, width, height }: Pixels): Promise<Uint8Array> {
  let bytes: Buffer | null = null;
  for (const quality of [80, 70, 60, 50, 40, 30]) {
    bytes = await sharp(data, { raw: { width, height, channels: 3 } })
      .jpeg({ quality })
      .toBuffer();
    if (bytes.length <= CUT_OUT_BYTES) break;
  }
  return bytes as Buffer;
}

/** From pixels of the photo to those of a print `share` as wide; centres lie at whole numbers, the corner at -0.5. */
function shrinkTo(share: number): Homography {
  const shift = (share - 1) / 2;
  return [share, 0, shift, 0, share, shift, 0, 0, 1];
}
