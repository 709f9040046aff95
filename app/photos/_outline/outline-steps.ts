import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import { movedBy } from '@/lib/photo/ground/group-move';
import type { Point } from '@/lib/photo/raster/pixels';
import { contains } from '@/lib/photo/raster/region';
import { stripsFromStakes } from '@/lib/photo/ground/strips-from-stakes';

export interface EditorOutline {
  plotId: string;
  corners: Point[];
  accepted: boolean;
}

/** A trial whose strip map is known: four stakes outline it whole. */
export interface EditorTrial {
  id: string;
  name: string;
  /** Far left, far right, near right, near left of its map, metres. */
  rectangleM: Point[];
  strips: { plotId: string; label: string; cornersM: Point[] }[];
}

/** What is being worked on: one plot by its id, a trial by its stakes, or all outlines together. */
export type Picked =
  | { kind: 'plot'; plotId: string }
  | { kind: 'stakes'; trialId: string }
  | { kind: 'all' }
  | { kind: 'nothing' };

/** Outlines as they stand in the editor. */
export interface OutlineWork {
  outlines: EditorOutline[];
  picked: Picked;
  /** Corners tapped so far of what is picked, fewer than four. */
  taps: Point[];
  /** Four corner stakes of each trial that was outlined by them. */
  stakes: Record<string, Point[]>;
}

export type Step = { work: OutlineWork; say?: string };

const outlineOf = (work: OutlineWork, plotId: string) => work.outlines.find((outline) => outline.plotId === plotId);

/** The first of the plots, in the order given, that has no outline yet. */
function nextToOutline(outlines: readonly EditorOutline[], order: readonly string[]): Picked {
  const plotId = order.find((id) => !outlines.some((outline) => outline.plotId === id));
  return plotId === undefined ? { kind: 'nothing' } : { kind: 'plot', plotId };
}

/** A guess is best moved as a whole first; else the next plot is asked for. */
export function startWork(outlines: EditorOutline[], order: readonly string[]): OutlineWork {
  const isGuess = outlines.some((outline) => !outline.accepted);
  return { outlines, picked: isGuess ? { kind: 'all' } : nextToOutline(outlines, order), taps: [], stakes: {} };
}

export const pick = (work: OutlineWork, picked: Picked): OutlineWork => ({ ...work, picked, taps: [] });

/** Is a tap a corner now, rather than a choice of what lies under it? */
export function isDrawing({ picked, outlines, stakes }: OutlineWork): boolean {
  return (
    (picked.kind === 'plot' && !outlines.some((outline) => outline.plotId === picked.plotId)) ||
    (picked.kind === 'stakes' && stakes[picked.trialId] === undefined)
  );
}

/**
 * A tap on the photo: a corner of what is picked, else it picks the outline under it. After the fourth the next plot is
 * offered.
 */
export function tapAt(work: OutlineWork, place: Point, order: readonly string[], trials: readonly EditorTrial[]): Step {
  if (!isDrawing(work)) {
    const under = work.outlines.findLast((outline) => contains(outline.corners, place));
    return { work: under ? pick(work, { kind: 'plot', plotId: under.plotId }) : work };
  }
  const taps = [...work.taps, place];
  if (taps.length < 4) return { work: { ...work, taps } };
  if (work.picked.kind === 'stakes') return layStakes(work, work.picked.trialId, taps, trials);
  if (work.picked.kind !== 'plot') return { work };
  const outlines = [...work.outlines, { plotId: work.picked.plotId, corners: taps, accepted: true }];
  const next = nextToOutline(outlines, order);
  // With nothing left to outline, its own corners stay in hand.
  return { work: { ...work, outlines, taps: [], picked: next.kind === 'nothing' ? work.picked : next } };
}

/** Lays a trial's strips by its four corner stakes. */
function layStakes(work: OutlineWork, trialId: string, corners: Point[], trials: readonly EditorTrial[]): Step {
  const trial = trials.find((one) => one.id === trialId);
  if (!trial) return { work };
  const laid = stripsFromStakes(trial.rectangleM, corners, trial.strips);
  if (laid.kind === 'mirrored')
    return {
      work: { ...work, taps: [] },
      say: 'These four run the other way round than the map. Start again: the small map shows which stake is meant.',
    };
  if (laid.kind === 'no-map')
    return { work: { ...work, taps: [] }, say: 'Three of these four lie in a line. Start again at the first stake.' };
  const others = work.outlines.filter((outline) => !trial.strips.some((strip) => strip.plotId === outline.plotId));
  return {
    work: {
      ...work,
      outlines: [...others, ...laid.outlines.map((outline) => ({ ...outline, accepted: true }))],
      taps: [],
      stakes: { ...work.stakes, [trialId]: corners },
    },
  };
}

/** A corner of the picked plot, of what is being tapped, or a stake was moved. */
export function moveCorner(work: OutlineWork, index: number, to: Point, trials: readonly EditorTrial[]): Step {
  const replaced = (corners: readonly Point[]) => corners.map((old, i) => (i === index ? to : old));
  const { picked } = work;
  if (isDrawing(work)) return { work: { ...work, taps: replaced(work.taps) } };
  if (picked.kind === 'stakes') {
    const step = layStakes(work, picked.trialId, replaced(work.stakes[picked.trialId] ?? []), trials);
    return step.say ? { work } : step;
  }
  if (picked.kind !== 'plot') return { work };
  return {
    work: {
      ...work,
      outlines: work.outlines.map((outline) =>
        outline.plotId === picked.plotId ? { ...outline, corners: replaced(outline.corners) } : outline,
      ),
    },
  };
}

/** All outlines that `which` names, and the stakes with them, moved by one map. */
export function moveAll(work: OutlineWork, map: Homography, which: (outline: EditorOutline) => boolean): OutlineWork {
  return {
    ...work,
    outlines: work.outlines.map((outline) =>
      which(outline) ? { ...outline, corners: movedBy(map, outline.corners) } : outline,
    ),
    stakes: Object.fromEntries(
      Object.entries(work.stakes).map(([id, corners]) => [id, corners.map((corner) => applyHomography(map, corner))]),
    ),
  };
}

/** Takes away the outline of the picked plot, or all strips of the picked trial, and asks for it anew. */
export function removePicked(work: OutlineWork, trials: readonly EditorTrial[]): OutlineWork {
  const { picked } = work;
  if (picked.kind === 'plot')
    return { ...work, taps: [], outlines: work.outlines.filter((outline) => outline.plotId !== picked.plotId) };
  if (picked.kind === 'all') return { ...work, taps: [], outlines: [], stakes: {}, picked: { kind: 'nothing' } };
  if (picked.kind !== 'stakes') return work;
  const strips = trials.find((trial) => trial.id === picked.trialId)?.strips ?? [];
  const { [picked.trialId]: _gone, ...stakes } = work.stakes;
  return {
    ...work,
    taps: [],
    stakes,
    outlines: work.outlines.filter((outline) => !strips.some((strip) => strip.plotId === outline.plotId)),
  };
}

/** An outline for the keyboard: a rectangle in the middle, to be moved corner by corner. */
export function placeRectangle(
  work: OutlineWork,
  widthPx: number,
  heightPx: number,
  trials: readonly EditorTrial[],
): Step {
  const [left, right, top, bottom] = [widthPx * 0.35, widthPx * 0.65, heightPx * 0.35, heightPx * 0.65];
  const corners: Point[] = [
    [left, top],
    [right, top],
    [right, bottom],
    [left, bottom],
  ];
  const { picked } = work;
  if (picked.kind === 'stakes') return layStakes(work, picked.trialId, corners, trials);
  if (picked.kind !== 'plot' || outlineOf(work, picked.plotId)) return { work };
  return {
    work: { ...work, taps: [], outlines: [...work.outlines, { plotId: picked.plotId, corners, accepted: true }] },
  };
}
