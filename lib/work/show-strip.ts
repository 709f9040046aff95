import 'server-only';
import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import { stripPrint } from '@/lib/darkroom/strip-print';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { listOutlines } from '@/lib/diary/outlines';
import { findPhoto } from '@/lib/diary/photos';
import { findPlot } from '@/lib/diary/plots';
import { dataFolder } from '@/lib/forms/environment';

const distance = ([ax, ay]: readonly number[], [bx, by]: readonly number[]): number => Math.hypot((ax ?? 0) - (bx ?? 0), (ay ?? 0) - (by ?? 0));

/** A plot of a photo from straight above, as JPEG bytes without metadata; null when it is not outlined by four corners there. */
export async function stripBytes(photoId: string, plotId: string, longPx: number): Promise<ReadableStream<Uint8Array> | null> {
  const photo = await findPhoto(photoId);
  if (!photo) return null;
  const [outline, plot] = [(await listOutlines(photoId)).find((one) => one.plotId === plotId && one.accepted), await findPlot(plotId)];
  if (!outline || outline.corners.length !== 4 || !plot) return null;
  // Where the plot's size on the ground is unknown, its near edge and its longer side in the photo give the shape.
  const [farLeft, farRight, nearRight, nearLeft] = (plot.polygonM?.length === 4 ? plot.polygonM : outline.corners) as unknown as [number[], number[], number[], number[]];
  const file = await stripPrint(
    dataFolder(),
    { sha256: photo.sha256, kind: photo.kind as PhotoKind },
    {
      corners: outline.corners,
      photoWidthPx: photo.widthPx,
      groundWidth: (distance(farLeft, farRight) + distance(nearLeft, nearRight)) / 2,
      groundLength: (distance(farLeft, nearLeft) + distance(farRight, nearRight)) / 2,
      longPx,
    },
  );
  return file === null ? null : (Readable.toWeb(createReadStream(file)) as ReadableStream<Uint8Array>);
}
