import 'server-only';
import { blocksOfPhoto } from '@/lib/diary/readings';
import { indexDifference } from '@/lib/photo/measure/interval';
import { DEFAULT_PARAMETERS, dgciBlocks } from '@/lib/photo/measure/measure';

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
  const blocks = new Map(
    (await blocksOfPhoto(photoId)).map((row) => {
      const { sums } = row.blocks as { sums: number[] };
      return [row.plotId, dgciBlocks(Float64Array.from(sums))] as const;
    }),
  );
  const check = blocks.get(checkPlotId);
  const found = new Map<string, PlotDifference>();
  if (!check) return found;
  for (const [plotId, own] of blocks) {
    const between = plotId === checkPlotId ? null : indexDifference(own, check, DEFAULT_PARAMETERS);
    if (between) found.set(plotId, { difference: between.difference, low95: between.low, high95: between.high });
  }
  return found;
}
