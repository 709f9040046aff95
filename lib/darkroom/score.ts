import 'server-only';
import { DEFAULT_PARAMETERS, measurePlots, type MeasureParameters, type PlotReading, type PlotToMeasure } from '../photo/measure';
import { lookAtQuality, type QualityCaution } from '../photo/quality';
import { wholePhoto } from '../photo/region';
import { decodePhoto, type ColourSource, type PhotoFacts } from './decode';
import { makePrints } from './prints';

export interface ScoreRequest {
  /** The photo's file. */
  readonly path: string;
  /** Plots to measure; with none the whole photo is one plot named 'photo'. */
  readonly plots: readonly PlotToMeasure[];
  readonly parameters?: MeasureParameters;
  /** Also makes the photo's prints, as the pixels are at hand. */
  readonly prints?: { readonly dataFolder: string; readonly sha256: string };
}

export interface ScoredPhoto extends PhotoFacts {
  readonly colourSource: ColourSource;
  readonly readings: readonly PlotReading[];
  readonly cautions: readonly QualityCaution[];
}

/** Decodes a photo and measures its plots, here and now, on this thread. @throws PhotoRefused */
export async function scoreHere({ path, plots, parameters = DEFAULT_PARAMETERS, prints }: ScoreRequest): Promise<ScoredPhoto> {
  const { pixels, ...facts } = await decodePhoto(path);
  if (prints !== undefined) await makePrints(prints.dataFolder, prints.sha256, pixels);
  const asked = plots.length > 0 ? plots : [{ id: 'photo', polygon: wholePhoto(pixels.width, pixels.height) }];
  const readings = measurePlots(pixels, asked, parameters);
  return { ...facts, readings, cautions: lookAtQuality(pixels, asked.map((plot) => plot.polygon)) };
}
