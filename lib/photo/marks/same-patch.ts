import { DAY_MS } from '@/lib/units/time';
import { applyHomography, homographyFrom4 } from '../ground/homography';
import type { Point, Polygon } from '../raster/pixels';

/** Where a patch lies on its plot: 0..1 across and along, whatever the photo. */
export interface PlaceOnPlot {
  readonly across: number;
  readonly along: number;
}

/**
 * The middle of a patch as a place on its plot.
 * @param patch its outline in the photo
 * @param plot the plot's four corners in the same photo: far-left, far-right, near-right, near-left
 * @returns null when the plot isn't a quadrilateral
 */
export function placeOnPlot(patch: Polygon, plot: Polygon): PlaceOnPlot | null {
  if (plot.length !== 4 || patch.length === 0) return null;
  const toPlot = homographyFrom4(plot, [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ]);
  if (toPlot === null) return null;
  const middle: Point = [mean(patch.map(([x]) => x)), mean(patch.map(([, y]) => y))];
  const [across, along] = applyHomography(toPlot, middle);
  return { across, along };
}

/**
 * Two patches count as one when their middles lie nearer than this share of the plot's sides (our own choice, no
 * source).
 */
const SAME_PATCH_WITHIN = 0.15;

/** Whether two places are of one patch. */
export function isSamePlace(a: PlaceOnPlot, b: PlaceOnPlot): boolean {
  return Math.abs(a.across - b.across) <= 2 * SAME_PATCH_WITHIN && Math.abs(a.along - b.along) <= SAME_PATCH_WITHIN;
}

/** How far apart two places are, in the measure by which places count as one: 1 is the limit. */
export function placesApart(a: PlaceOnPlot, b: PlaceOnPlot): number {
  return Math.max(
    Math.abs(a.across - b.across) / (2 * SAME_PATCH_WITHIN),
    Math.abs(a.along - b.along) / SAME_PATCH_WITHIN,
  );
}

/**
 * Turf mows and grows a mark out in some weeks: what shows up at the same place after more days than this is something
 * new. Our own choice, no source.
 * Exported for the plain search that the quick one is held to.
 */
export const SAME_EVENT_DAYS = 45;

/** A mark in one photo. `name` is the thread an earlier version knew it by. */
export interface SeenMark {
  readonly id: string;
  readonly photoId: string;
  readonly takenAtMs: number;
  readonly place: PlaceOnPlot | null;
  readonly name: string;
}

/** A patch of ground a person spoke of: where, and when it was seen. Without a place it is known by its name alone. */
export interface KnownPatch {
  readonly id: string;
  readonly place: PlaceOnPlot | null;
  readonly fromMs: number;
  readonly toMs: number;
}

type Writable<T> = { -readonly [Key in keyof T]: T[Key] };

/**
 * Sorts the marks of one plot into patches of ground: the same place, not longer apart than SAME_EVENT_DAYS. Patches a
 * person spoke of stand first; the order in which marks came in doesn't matter.
 * @returns mark -> its patch: the known one's id, else the id of its first mark
 */
export function patchesOf(marks: readonly SeenMark[], known: readonly KnownPatch[]): Map<string, string> {
  // Copies: they grow with each mark that is theirs.
  type Growing = Writable<KnownPatch> & { readonly order: number; readonly photos: Set<string> };
  let order = 0;
  const growing = (patch: KnownPatch, ...photos: string[]): Growing => ({
    ...patch,
    order: order++,
    photos: new Set(photos),
  });
  const patches = known.map((patch) => growing(patch));
  /** Patches with a place that may still grow; a patch without is known by its name alone. */
  const open = patches.filter((patch) => patch.place !== null);
  const named = new Map<string, Growing>();
  for (const patch of patches) if (patch.place === null && !named.has(patch.id)) named.set(patch.id, patch);
  const found = new Map<string, string>();
  const inOrder = marks.toSorted(
    (a, b) =>
      a.takenAtMs - b.takenAtMs ||
      (a.place?.across ?? 0) - (b.place?.across ?? 0) ||
      (a.place?.along ?? 0) - (b.place?.along ?? 0) ||
      a.id.localeCompare(b.id),
  );
  for (const mark of inOrder) {
    const { place, takenAtMs } = mark;
    const [one, other] = [named.get(mark.name), named.get(mark.id)];
    let patch = one && other ? (one.order < other.order ? one : other) : (one ?? other);
    if (!patch && place !== null) {
      let nearest = Infinity;
      let kept = 0;
      for (const candidate of open) {
        // Marks come in the order of time: what was last seen too long ago is done with.
        if (takenAtMs > candidate.toMs + SAME_EVENT_DAYS * DAY_MS) continue;
        open[kept++] = candidate;
        const at = candidate.place as PlaceOnPlot;
        if (
          takenAtMs < candidate.fromMs - SAME_EVENT_DAYS * DAY_MS ||
          !isSamePlace(at, place) ||
          candidate.photos.has(mark.photoId)
        )
          continue;
        const apart = placesApart(at, place);
        if (apart < nearest) [nearest, patch] = [apart, candidate];
      }
      open.length = kept;
    }
    if (patch) {
      patch.fromMs = Math.min(patch.fromMs, mark.takenAtMs);
      patch.toMs = Math.max(patch.toMs, mark.takenAtMs);
      patch.photos.add(mark.photoId);
      found.set(mark.id, patch.id);
    } else {
      const own = growing({ id: mark.id, place, fromMs: mark.takenAtMs, toMs: mark.takenAtMs }, mark.photoId);
      if (place !== null) open.push(own);
      else if (!named.has(own.id)) named.set(own.id, own);
      found.set(mark.id, mark.id);
    }
  }
  return found;
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
