import {
  isSamePlace,
  placesApart,
  SAME_EVENT_DAYS,
  type KnownPatch,
  type PlaceOnPlot,
  type SeenMark,
} from '@/lib/photo/marks/same-patch';

const LIMIT_MS = SAME_EVENT_DAYS * 86_400_000;

/** patchesOf as it is defined, every patch looked at for every mark. */
export function plainPatches(marks: readonly SeenMark[], known: readonly KnownPatch[]): Map<string, string> {
  const patches = known.map((patch) => ({ ...patch, photos: new Set<string>() }));
  const found = new Map<string, string>();
  const inOrder = marks.toSorted(
    (a, b) =>
      a.takenAtMs - b.takenAtMs ||
      (a.place?.across ?? 0) - (b.place?.across ?? 0) ||
      (a.place?.along ?? 0) - (b.place?.along ?? 0) ||
      a.id.localeCompare(b.id),
  );
  for (const mark of inOrder) {
    const within = (patch: KnownPatch) =>
      mark.takenAtMs >= patch.fromMs - LIMIT_MS && mark.takenAtMs <= patch.toMs + LIMIT_MS;
    const { place } = mark;
    let patch = patches.find((one) => one.place === null && (one.id === mark.name || one.id === mark.id));
    if (!patch && place !== null) {
      const near = patches.filter(
        (one) => one.place !== null && isSamePlace(one.place, place) && within(one) && !one.photos.has(mark.photoId),
      );
      [patch] = near.toSorted(
        (a, b) => placesApart(a.place as PlaceOnPlot, place) - placesApart(b.place as PlaceOnPlot, place),
      );
    }
    if (patch) {
      patch.fromMs = Math.min(patch.fromMs, mark.takenAtMs);
      patch.toMs = Math.max(patch.toMs, mark.takenAtMs);
      patch.photos.add(mark.photoId);
    } else {
      patches.push({
        id: mark.id,
        place,
        fromMs: mark.takenAtMs,
        toMs: mark.takenAtMs,
        photos: new Set([mark.photoId]),
      });
    }
    found.set(mark.id, patch?.id ?? mark.id);
  }
  return found;
}
