import type { Polygon } from '../raster/pixels';
import { regionOf } from '../raster/region';
import { cutIntoBlocks, gridOn } from './blocks';

/**
 * Which blocks of a plot any of some patches touches, by a pixel or more.
 * @param plot the outline the blocks were cut from; patches: outlines of patches. Both in pixels of the same photo
 * @param count how many blocks across and along the plot was cut into
 * @returns their numbers, row by row from the first corner
 * @throws RangeError for an outline that isn't one (fewer than three corners, no area)
 */
export function blocksTouched(
  plot: Polygon,
  count: { readonly across: number; readonly along: number },
  patches: readonly Polygon[],
  { width, height }: { readonly width: number; readonly height: number },
): Set<number> {
  const touched = new Set<number>();
  if (patches.length === 0) return touched;
  const pieces = cutIntoBlocks(regionOf(plot, width, height), gridOn(plot, count.across, count.along));
  const rows = new Map<number, number[]>();
  for (let at = 0; at < pieces.length; at += 4) {
    const row = rows.get(pieces[at]!);
    if (row) row.push(at);
    else rows.set(pieces[at]!, [at]);
  }
  for (const patch of patches) {
    const { runs } = regionOf(patch, width, height);
    for (let i = 0; i < runs.length; i += 3)
      for (const at of rows.get(runs[i]!) ?? [])
        if (pieces[at + 1]! < runs[i + 2]! && pieces[at + 2]! > runs[i + 1]!) touched.add(pieces[at + 3]!);
  }
  return touched;
}
