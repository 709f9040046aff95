import 'server-only';
import { createHash } from 'node:crypto';
import {
  marksOfPhoto,
  marksOfPlots,
  placePatch,
  replaceMarks,
  unplacedPatches,
  type MarkInput,
  type RawMark,
} from '@/lib/diary/marks';
import { photoStates, type PhotoState } from '@/lib/diary/worked-out';
import { isSamePlace, placeOnPlot, placesApart, type PlaceOnPlot } from '@/lib/photo/marks/same-patch';
import type { ComparedPatch } from './compare-photos';

/**
 * Keeps what was found in a photo. A patch that was found there before keeps its row's name, so that links to it live
 * on.
 */
export async function keepMarks(photo: PhotoState, patches: readonly ComparedPatch[]): Promise<void> {
  const plotIds = photo.outlines.map((outline) => outline.plotId);
  await placeVerdicts(plotIds);
  const before = (await placed(await marksOfPhoto(photo.id))).filter((mark) => plotIds.includes(mark.plotId));
  const taken = new Set<string>();
  const rows: (MarkInput & { id: string })[] = [];
  for (const patch of patches) {
    const corners = photo.outlines.find((outline) => outline.plotId === patch.strip)?.corners;
    const place = corners ? placeOnPlot(patch.polygon, corners) : null;
    const same =
      place === null
        ? undefined
        : nearest(
            before.filter((mark) => mark.plotId === patch.strip && !taken.has(mark.id)),
            place,
          );
    let id = same?.id ?? nameFor(photo.id, patch.strip, place, 0);
    for (let n = 1; taken.has(id); n++) id = nameFor(photo.id, patch.strip, place, n);
    taken.add(id);
    rows.push({
      id,
      plotId: patch.strip,
      threadId: same?.threadId ?? id,
      acrossShare: place?.across ?? null,
      alongShare: place?.along ?? null,
      kind: patch.kind,
      isNew: patch.new,
      score: patch.score,
      polygon: patch.polygon.map(([x, y]) => [x, y]),
      areaShare: patch.areaShareStrip,
      areaM2: patch.areaM2,
      severityDeltaE00: patch.deltaE00,
    });
  }
  await replaceMarks(photo.id, rows);
}

/**
 * The same patch of the same photo always gets the same name, so that one that comes back is found under its old link.
 */
function nameFor(photoId: string, plotId: string, place: PlaceOnPlot | null, n: number): string {
  const cell = place === null ? '' : `${Math.round(place.across * 20)} ${Math.round(place.along * 20)}`;
  return `m${createHash('sha1').update(`${photoId} ${plotId} ${cell} ${n}`).digest('hex').slice(0, 24)}`;
}

function nearest<T extends { place: PlaceOnPlot }>(marks: readonly T[], place: PlaceOnPlot): T | undefined {
  return marks
    .filter((mark) => isSamePlace(mark.place, place))
    .toSorted((a, b) => placesApart(a.place, place) - placesApart(b.place, place))[0];
}

/** Marks with their place on the plot; one kept without (by an earlier version) is placed by its photo's outline. */
export async function placed(marks: readonly RawMark[]): Promise<(RawMark & { place: PlaceOnPlot })[]> {
  const bare = marks.filter((mark) => mark.acrossShare === null);
  const states = new Map(
    (bare.length === 0 ? [] : await photoStates([...new Set(bare.map((mark) => mark.photoId))])).map((state) => [
      state.id,
      state,
    ]),
  );
  return marks.flatMap((mark) => {
    if (mark.acrossShare !== null && mark.alongShare !== null)
      return [{ ...mark, place: { across: mark.acrossShare, along: mark.alongShare } }];
    const corners = states.get(mark.photoId)?.outlines.find((outline) => outline.plotId === mark.plotId)?.corners;
    const place = corners ? placeOnPlot(mark.polygon, corners) : null;
    return place ? [{ ...mark, place }] : [];
  });
}

/**
 * Verdicts that came from an earlier version know their marks only by name: their place is read off these before they
 * are replaced.
 */
async function placeVerdicts(plotIds: readonly string[]): Promise<void> {
  const unplaced = await unplacedPatches(plotIds);
  if (unplaced.length === 0) return;
  const marks = await placed(
    (await marksOfPlots(plotIds)).filter((mark) =>
      unplaced.some((patch) => patch.id === mark.threadId || patch.id === mark.id),
    ),
  );
  for (const patch of unplaced) {
    const last = marks
      .filter((mark) => (mark.threadId === patch.id || mark.id === patch.id) && mark.plotId === patch.plotId)
      .at(-1);
    if (last) await placePatch(patch.id, last.place);
  }
}
