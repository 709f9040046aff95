import 'server-only';
import type { Point } from '@/lib/photo/raster/pixels';
import { encodeJpeg } from './encode';
import { drawLawnPhoto } from './lawn-renderer';
import type { DemoPhoto, DemoScenario } from './scenario';
import type { StripId } from './demo-facts';

export interface DrawnPhoto {
  readonly photo: DemoPhoto;
  readonly fileName: string;
  readonly jpeg: Buffer;
  readonly takenAtLocal: string;
  readonly utcOffsetMinutes: number;
  /** Pixels of the upright photo, far-left, far-right, near-right, near-left. */
  readonly plotCorners: Readonly<Record<StripId, readonly Point[]>>;
}

/** The scenario's photos in the order they were taken, each drawn and encoded only when asked for. */
export async function* demoPhotos(scenario: DemoScenario): AsyncGenerator<DrawnPhoto> {
  for (const photo of scenario.photos) {
    const jpeg = await encodeJpeg(drawLawnPhoto(photo, scenario.strips), photo);
    const { fileName, takenAtLocal, utcOffsetMinutes, plotCorners } = photo;
    yield { photo, fileName, jpeg, takenAtLocal, utcOffsetMinutes, plotCorners };
  }
}
