import 'server-only';
import {
  DEFAULT_PARAMETERS,
  measurePlots,
  type MeasureParameters,
  type PlotReading,
  type PlotToMeasure,
} from '../photo/measure/measure';
import { lookAtQuality, type QualityCaution } from '../photo/measure/quality';
import { wholePhoto } from '../photo/raster/region';
import { scaled, type PhotoScale } from '../photo/measure/scale';
import { decodePhoto, type AskedScale, type ColourSource, type FileFacts } from './decode';
import { PRINT_WIDTHS } from '../photo/raster/print-width';
import { makePrints } from './prints';

export interface ScoreRequest {
  /** The photo's file. */
  readonly path: string;
  /** Plots to measure; with none the whole photo is one plot named 'photo'. */
  readonly plots: readonly PlotToMeasure[];
  readonly parameters?: Omit<MeasureParameters, 'scale'>;
  /** What the photo is read at; unless told, its own scale. */
  readonly scale?: AskedScale;
  /** Also makes the photo's prints, as the pixels are at hand. */
  readonly prints?: { readonly dataFolder: string; readonly sha256: string };
}

export interface ScoredPhoto extends FileFacts {
  readonly scale: PhotoScale;
  readonly colourSource: ColourSource;
  readonly readings: readonly PlotReading[];
  readonly cautions: readonly QualityCaution[];
}

/** Decodes a photo and measures its plots, here and now, on this thread. @throws PhotoRefused */
export async function scoreHere({
  path,
  plots,
  parameters = DEFAULT_PARAMETERS,
  scale: askedScale = 'own',
  prints,
}: ScoreRequest): Promise<ScoredPhoto> {
  const { pixels, ...facts } = await decodePhoto(path, { scale: askedScale });
  const { scale } = facts;
  // A halved photo smaller than the largest print is no source for it: that print is made when it is asked for.
  if (prints !== undefined && (scale === 1 || Math.max(pixels.width, pixels.height) >= Math.max(...PRINT_WIDTHS)))
    await makePrints(prints.dataFolder, prints.sha256, pixels);
  const asked = plots.length > 0 ? plots : [{ id: 'photo', polygon: wholePhoto(facts.width, facts.height) }];
  const readings = measurePlots(pixels, asked, { ...parameters, scale });
  return {
    ...facts,
    readings,
    cautions: lookAtQuality(
      pixels,
      asked.map((plot) => scaled(plot.polygon, scale)),
    ),
  };
}
