import 'server-only';
import { blocksOfPhoto } from '@/lib/diary/readings';
import { dgciBlocks } from '@/lib/photo/measure/measure';
import type { BlockSum } from '@/lib/stats/bootstrap';

/** A reading's blocks: how many each way, and their dark green index, row by row; none where nothing was kept. */
export interface IndexBlocks {
  readonly across: number;
  readonly along: number;
  readonly blocks: BlockSum[];
}

/** The blocks of a photo's readings, by plot. */
export async function indexBlocksOf(photoId: string): Promise<Map<string, IndexBlocks>> {
  return new Map(
    (await blocksOfPhoto(photoId)).map((row) => {
      const { across, along, sums } = row.blocks as { across: number; along: number; sums: number[] };
      return [row.plotId, { across, along, blocks: dgciBlocks(Float64Array.from(sums)) }];
    }),
  );
}
