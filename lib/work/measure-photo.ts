import 'server-only';
import { findPhoto, updatePhoto } from '@/lib/diary/photos';
import { listOutlines } from '@/lib/diary/outlines';
import { listPlots } from '@/lib/diary/plots';
import { saveReadings } from '@/lib/diary/readings';
import { scorePhoto } from '@/lib/darkroom/scorer';
import { PhotoRefused } from '@/lib/darkroom/refused';
import { photoPath } from '@/lib/darkroom/shelf';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { dataFolder } from '@/lib/forms/environment';
import type { PlotReading } from '@/lib/photo/measure';

/** A reading as the diary keeps it. */
function readingRow(plotId: string, takenAt: Date, reading: PlotReading) {
  const green = reading.greenness;
  return {
    plotId,
    takenAt,
    methodVersion: reading.methodVersion,
    parameters: { ...reading.parameters },
    pixels: reading.pixels,
    turfPixels: reading.turfPixels,
    turfShare: reading.turfShare,
    hueDeg: green?.hue ?? null,
    saturation: green?.saturation ?? null,
    brightness: green?.brightness ?? null,
    dgci: green?.dgci ?? null,
    extrapolated: green?.extrapolated ?? false,
    dgciPixelMean: green?.dgciPixelMean ?? null,
    dgciPixelSd: green?.dgciPixelSd ?? null,
    dgciLow95: reading.ci95?.low ?? null,
    dgciHigh95: reading.ci95?.high ?? null,
    labL: green?.lab.L ?? null,
    labA: green?.lab.a ?? null,
    labB: green?.lab.b ?? null,
    ngrdi: green?.ngrdi ?? null,
    gli: green?.gli ?? null,
    exg: green?.exg ?? null,
    vari: green?.vari ?? null,
    blocks: { across: reading.blocks.grid.across, along: reading.blocks.grid.along, sums: [...reading.blocks.sums] },
  };
}

/** Measures the accepted outlines of a photo and keeps the readings; what went wrong, if it did, is kept with the photo. */
export async function measurePhoto(photoId: string): Promise<{ ok: true } | { ok: false; message: string }> {
  const photo = await findPhoto(photoId);
  if (!photo) return { ok: false, message: 'Photo: expected one of this diary, got one that is not there any more' };
  const [outlines, plots] = await Promise.all([listOutlines(photoId), listPlots(photo.lawnId)]);
  const ground = new Map(plots.map((plot) => [plot.id, plot.polygonM]));
  const accepted = outlines.filter((outline) => outline.accepted);
  if (accepted.length === 0) {
    await saveReadings(photoId, [], []);
    return { ok: true };
  }
  const folder = dataFolder();
  try {
    const scored = await scorePhoto({
      path: photoPath(folder, photo.sha256, photo.kind as PhotoKind),
      plots: accepted.map((outline) => {
        const metres = ground.get(outline.plotId);
        return { id: outline.plotId, polygon: outline.corners, ...(metres && metres.length === outline.corners.length ? { groundMetres: metres } : {}) };
      }),
      prints: { dataFolder: folder, sha256: photo.sha256 },
    });
    await saveReadings(
      photoId,
      scored.readings.map((reading) => readingRow(reading.id, photo.takenAt, reading)),
      scored.cautions.map((caution) => ({ ...caution })),
    );
    return { ok: true };
  } catch (error) {
    const message = error instanceof PhotoRefused || error instanceof RangeError ? error.message : 'Measuring stopped unexpectedly; the photo and its outlines are kept. Try again.';
    await updatePhoto(photoId, { measureState: 'failed', measureMessage: message });
    if (error instanceof PhotoRefused || error instanceof RangeError) return { ok: false, message };
    throw error;
  }
}
