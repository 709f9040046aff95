import 'server-only';
import { blocksOfPhoto } from '@/lib/diary/readings';
import { DEFAULT_PARAMETERS, dgciBlocks } from '@/lib/photo/measure';
import { blockBootstrapDifference } from '@/lib/stats/bootstrap';

export interface PlotDifference {
  difference: number;
  low95: number | null;
  high95: number | null;
}

const z95 = 1.959964;

/**
 * For each other plot in a photo, its index minus the check's, with a 95% interval: blocks of the two resampled apart,
 * and what one photo can't know added in quadrature.
 */
export async function differencesToCheck(photoId: string, checkPlotId: string): Promise<Map<string, PlotDifference>> {
  const blocks = new Map(
    (await blocksOfPhoto(photoId)).map((row) => {
      const { sums } = row.blocks as { sums: number[] };
      return [row.plotId, dgciBlocks(Float64Array.from(sums)).filter((block) => block.count > 0)] as const;
    }),
  );
  const check = blocks.get(checkPlotId);
  const found = new Map<string, PlotDifference>();
  if (!check || check.length === 0) return found;
  const { minBlocks, photoSd, resamples, seed } = DEFAULT_PARAMETERS;
  for (const [plotId, own] of blocks) {
    if (plotId === checkPlotId || own.length === 0) continue;
    const { estimate, low, high } = blockBootstrapDifference(own, check, { resamples, seed });
    const enough = Math.min(own.length, check.length) >= minBlocks;
    const floor = z95 * photoSd;
    found.set(plotId, {
      difference: estimate,
      low95: enough ? estimate - Math.hypot(estimate - low, floor) : null,
      high95: enough ? estimate + Math.hypot(high - estimate, floor) : null,
    });
  }
  return found;
}
