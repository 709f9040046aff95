import 'server-only';
import { isServerGone } from '@/lib/diary/client';
import type { KeptCaution } from '@/lib/diary/photos';
import { keepFailure, saveReadings } from '@/lib/diary/readings';
import type { PhotoState } from '@/lib/diary/worked-out';
import { scorePhoto } from '@/lib/darkroom/scorer';
import { PhotoRefused } from '@/lib/darkroom/refused';
import { originalOf } from '@/lib/darkroom/originals';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { dataFolder } from '@/lib/forms/environment';
import type { PlotReading } from '@/lib/photo/measure/measure';
import type { PhotoScale } from '@/lib/photo/measure/scale';

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

/**
 * Measures the accepted outlines of a photo and keeps the readings under the fingerprint of what they rest on; what
 * went wrong, if it did, is kept with the photo.
 */
export async function measureState(
  photo: PhotoState,
  key: string,
  scale: PhotoScale,
): Promise<{ ok: true } | { ok: false; message: string }> {
  const accepted = photo.outlines.filter((outline) => outline.accepted);
  if (accepted.length === 0) {
    await saveReadings(photo.id, [], [], key);
    return { ok: true };
  }
  const folder = dataFolder();
  try {
    const scored = await scorePhoto({
      path: await originalOf(folder, { sha256: photo.sha256, kind: photo.kind as PhotoKind }),
      plots: accepted.map(({ plotId, corners, ground }) => ({
        id: plotId,
        polygon: corners,
        ...(ground && ground.length === corners.length ? { groundMetres: ground } : {}),
      })),
      scale,
      prints: { dataFolder: folder, sha256: photo.sha256 },
    });
    await saveReadings(
      photo.id,
      scored.readings.map((reading) => readingRow(reading.id, photo.takenAt, reading)),
      [...saidOfCards(photo), ...scored.cautions].map((caution) => ({ ...caution })),
      key,
    );
    return { ok: true };
  } catch (error) {
    // No fault of the photo's.
    if (isServerGone(error)) throw error;
    const refused = error instanceof PhotoRefused || error instanceof RangeError;
    const message = refused
      ? error.message
      : 'Measuring stopped unexpectedly; the photo and its outlines are kept. Try again.';
    // It stays so until what was read changes, or a person asks for it again.
    await keepFailure(photo.id, message, key);
    if (refused) return { ok: false, message };
    throw error;
  }
}

/** What plot cards said of the photo, as long as they place its plots. */
export const PLOT_CARDS = 'plot-cards';
const saidOfCards = (photo: PhotoState): KeptCaution[] =>
  photo.outlines.some((outline) => outline.origin === 'cards')
    ? photo.cautions.filter((caution) => caution.code === PLOT_CARDS)
    : [];
