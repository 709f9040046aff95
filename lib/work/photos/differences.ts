import 'server-only';
import { indexDifference } from '@/lib/photo/measure/interval';
import { DEFAULT_PARAMETERS } from '@/lib/photo/measure/measure';
import { indexBlocksOf } from './index-blocks';

export interface PlotDifference {
  difference: number;
  low95: number | null;
  high95: number | null;
}

/**
 * For each other plot in a photo, its index minus the check's, with a 95% interval: blocks of the two resampled apart,
 * and what one photo can't know added in quadrature.
 */
export async function differencesToCheck(photoId: string, checkPlotId: string): Promise<Map<string, PlotDifference>> {
  const plots = await indexBlocksOf(photoId);
  const check = plots.get(checkPlotId);
  const found = new Map<string, PlotDifference>();
  if (!check) return found;
  for (const [plotId, own] of plots) {
    const between = plotId === checkPlotId ? null : indexDifference(own.blocks, check.blocks, DEFAULT_PARAMETERS);
    if (between) found.set(plotId, { difference: between.difference, low95: between.low, high95: between.high });
  }
  return found;
}
