import sharp from 'sharp';
import { createPlot, type Plot } from '@/lib/diary/plots';
import type { Lawn } from '@/lib/diary/lawns';
import { IDENTITY } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { outlinePlots } from '@/lib/work/photos/outline-plots';
import { takePhoto } from '@/lib/work/photos/take-photo';
import { drawLawn } from '../lineup/draw-lawn';
import { testLawn } from './test-lawn';

/** Plots of the drawn lawn: an unsprayed one and one that is sprayed, side by side, with stakes between. */
export const CORNERS: Readonly<Record<'check' | 'sprayed', Point[]>> = {
  check: [
    [60, 90],
    [290, 90],
    [290, 410],
    [60, 410],
  ],
  sprayed: [
    [360, 90],
    [590, 90],
    [590, 410],
    [360, 410],
  ],
};

export interface DrawnShot {
  /** UTC, YYYY-MM-DDTHH:MM. */
  readonly at: string;
  /** How much darker green the sprayed plot is: a factor on red and green. */
  readonly greening?: number;
  /** A pale disc on the sprayed plot. */
  readonly haze?: boolean;
  readonly viewpoint?: string;
}

/** A lawn with the two plots drawn below. */
export async function drawnLawn(): Promise<{ lawn: Lawn; check: Plot; sprayed: Plot }> {
  const lawn = await testLawn({ timeZone: 'UTC' });
  const plot = (name: string, isCheck: boolean) =>
    createPlot(lawn.id, {
      name,
      isCheck,
      polygonM: null,
      areaM2: 10,
      note: '',
    });
  return { lawn, check: await plot('K', true), sprayed: await plot('A', false) };
}

/** The photo's bytes: the same shot is the same file. */
export async function drawShot(shot: DrawnShot): Promise<Buffer> {
  const blades = Math.abs([...shot.at].reduce((sum, letter) => (sum * 31 + letter.charCodeAt(0)) % 9973, 7));
  const pixels = drawLawn(672, 504, { ground: 3, blades, landmarks: true }, IDENTITY);
  const [[x0, y0], , [x1, y1]] = CORNERS.sprayed as [Point, Point, Point, Point];
  for (let y = y0; y < y1; y++) {
    for (let x = x0; x < x1; x++) {
      const at = (y * pixels.width + x) * 3;
      const factor = shot.greening ?? 1;
      for (const c of [0, 1]) pixels.data[at + c] = Math.round((pixels.data[at + c] as number) * factor);
      if (shot.haze && Math.hypot(x - 450, y - 230) < 45)
        for (let c = 0; c < 3; c++)
          pixels.data[at + c] = Math.round(0.45 * (pixels.data[at + c] as number) + 0.55 * [176, 186, 172][c]!);
    }
  }
  return sharp(pixels.data, { raw: { width: pixels.width, height: pixels.height, channels: 3 } })
    .jpeg({ quality: 92 })
    .toBuffer();
}

/** Takes a drawn photo into the diary, unread. @returns its id */
export async function upload(lawn: Lawn, shot: DrawnShot): Promise<string> {
  const bytes = await drawShot(shot);
  const taken = await takePhoto(new Blob([new Uint8Array(bytes)]).stream(), {
    lawnId: lawn.id,
    fileName: `${shot.at}.jpg`,
    viewpointName: shot.viewpoint ?? 'step',
    modified: new Date(`${shot.at}:00Z`),
    now: new Date(`${shot.at}:00Z`),
  });
  if (!taken.ok) throw new Error(taken.message);
  return taken.photoId;
}

/** Outlines both plots as a person does. */
export function outlineBoth(
  photoId: string,
  plots: { check: Plot; sprayed: Plot },
  origin: 'drawn' | 'surveyed' = 'surveyed',
) {
  const of = (which: 'check' | 'sprayed') => ({
    plotId: plots[which].id,
    corners: CORNERS[which].map(([x, y]): [number, number] => [x, y]),
  });
  return outlinePlots(photoId, [of('check'), of('sprayed')], origin);
}
