import 'server-only';
import { blockMean } from '@/lib/stats/bootstrap';
import { blocksTouched } from '@/lib/photo/measure/blocks-touched';
import { indexDifference, indexInterval } from '@/lib/photo/measure/interval';
import { DEFAULT_PARAMETERS } from '@/lib/photo/measure/measure';
import type { Polygon } from '@/lib/photo/raster/pixels';
import type { Figure } from './changes';
import { indexBlocksOf } from './index-blocks';

/** What one photo says of a plot by the blocks that no marked patch touches, on it and on the check. */
export interface FiguresWithoutMarks {
  /** Its dark green index; null where no block with turf is left. */
  readonly index: Figure | null;
  /** Its index less the check's; null for the check itself, without one, and where either has no block left. */
  readonly difference: Figure | null;
}

/**
 * For each plot in a photo whose figures rest on marked patches, its own or the check's: the same without the blocks
 * these touch, since a reading keeps sums of blocks and not of pixels.
 */
export async function figuresWithoutMarks(
  photo: { id: string; widthPx: number; heightPx: number },
  outlines: readonly { plotId: string; corners: Polygon }[],
  marks: readonly { plotId: string; polygon: Polygon }[],
  checkPlotId: string | null,
): Promise<Map<string, FiguresWithoutMarks>> {
  const found = new Map<string, FiguresWithoutMarks>();
  if (marks.length === 0) return found;
  const left = new Map(
    [...(await indexBlocksOf(photo.id))].map(([plotId, { across, along, blocks }]) => {
      const corners = outlines.find((outline) => outline.plotId === plotId)?.corners;
      const touched =
        corners && blocks.length > 0
          ? blocksTouched(
              corners,
              { across, along },
              marks.filter((mark) => mark.plotId === plotId).map((mark) => mark.polygon),
              { width: photo.widthPx, height: photo.heightPx },
            )
          : new Set<number>();
      return [plotId, blocks.filter((_, block) => !touched.has(block))] as const;
    }),
  );
  const isMarked = (plotId: string | null) => marks.some((mark) => mark.plotId === plotId);
  const check = checkPlotId === null ? undefined : left.get(checkPlotId);
  for (const [plotId, own] of left) {
    if (!isMarked(plotId) && !isMarked(checkPlotId)) continue;
    const seen = own.some((block) => block.count > 0);
    const ends = indexInterval(own, DEFAULT_PARAMETERS);
    const between = check && plotId !== checkPlotId ? indexDifference(own, check, DEFAULT_PARAMETERS) : null;
    found.set(plotId, {
      index: seen ? { value: blockMean(own), low95: ends?.low ?? null, high95: ends?.high ?? null } : null,
      difference: between && { value: between.difference, low95: between.low, high95: between.high },
    });
  }
  return found;
}
