'use client';
import './stage.css';
import { useMemo, useRef, useState } from 'react';
import { ActionForm } from '@/app/_ui/action-form';
import type { FormResult } from '@/lib/forms/result';
import { frameRound, shiftBy, turnAndSize, turnAndSizeOnto } from '@/lib/photo/ground/group-move';
import { homographyFrom4, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import {
  isDrawing,
  moveAll,
  moveCorner,
  pick,
  placeRectangle,
  removePicked,
  tapAt,
  type EditorOutline,
  type EditorTrial,
  type OutlineWork,
  type Picked,
  type Step,
} from './outline-steps';
import { PhotoStage, type StageHandle } from './photo-stage';
import { PlotPicker, type PickerPlot } from './plot-picker';
import { StakeGuide, stakeNames } from './stake-guide';
import { useOutlines } from './use-outlines';
import type { GreennessRange } from '@/lib/colour/greenness-range';

export interface EditorMark {
  id: string;
  label: string;
  polygon: Point[];
}

const points = (corners: readonly Point[]) => corners.map(([x, y]) => `${x},${y}`).join(' ');

/** What fits on a strip in the photo: the first word of the plot's name. */
const shortName = (name: string) => name.split(/[\s·,;:]+/)[0] ?? name;

const middleOf = (corners: readonly Point[]): Point => [
  corners.reduce((sum, [x]) => sum + x, 0) / corners.length,
  corners.reduce((sum, [, y]) => sum + y, 0) / corners.length,
];

/** The outlines of plots on a photo, as shapes in the photo's own pixels. */
export function OutlineShapes({
  outlines,
  names,
  picked,
}: {
  outlines: readonly EditorOutline[];
  names: ReadonlyMap<string, string>;
  picked: ReadonlySet<string>;
}) {
  return outlines.map((outline) => (
    <g key={outline.plotId}>
      <polygon className="outline-shadow" points={points(outline.corners)} />
      <polygon
        className={`outline${picked.has(outline.plotId) ? ' outline-picked' : ''}`}
        points={points(outline.corners)}
        strokeDasharray={outline.accepted ? undefined : '10 8'}
      />
      <text x={middleOf(outline.corners)[0]} y={middleOf(outline.corners)[1]} textAnchor="middle">
        {shortName(names.get(outline.plotId) ?? '')}
      </text>
    </g>
  ));
}

/**
 * Draws the outlines of plots on a photo. Four taps make one, then the next plot is asked for; a trial's strips come
 * from its four corner stakes; all together are moved, turned and sized. Corners are dragged by finger or mouse, or
 * moved with the arrow keys. What is drawn is kept as a draft until it is saved.
 */
export function OutlineEditor({
  photoId,
  widthPx,
  heightPx,
  alt,
  likely,
  more,
  boards,
  trials,
  start,
  marks,
  mapRange,
  save,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  alt: string;
  likely: PickerPlot[];
  more: { title: string; plots: PickerPlot[] }[];
  /** A grey card or colour chart: it may be outlined, but needn't. */
  boards: PickerPlot[];
  trials: EditorTrial[];
  start: EditorOutline[];
  marks: EditorMark[];
  /** The indices that the greenness map's colours span. */
  mapRange: GreennessRange;
  save: (previous: FormResult, data: FormData) => Promise<FormResult>;
}) {
  const order = useMemo(() => likely.map((plot) => plot.id), [likely]);
  const { work, changed, draftAtMs, canGoBack, take, look, back, accept, throwAway } = useOutlines(
    photoId,
    start,
    order,
  );
  const [showMap, setShowMap] = useState(false);
  const [keepShape, setKeepShape] = useState(true);
  const [said, setSaid] = useState('');
  const dragFrom = useRef<OutlineWork | null>(null);

  const names = useMemo(
    () => new Map([...likely, ...boards, ...more.flatMap((group) => group.plots)].map((plot) => [plot.id, plot.name])),
    [likely, boards, more],
  );
  const boardIds = useMemo(() => new Set(boards.map((board) => board.id)), [boards]);
  const { picked, outlines, taps } = work;
  const isPlot = (outline: EditorOutline) => !boardIds.has(outline.plotId);
  const drawing = isDrawing(work);
  const trial = picked.kind === 'stakes' ? trials.find((one) => one.id === picked.trialId) : undefined;
  const pickedOutline =
    picked.kind === 'plot' ? outlines.find((outline) => outline.plotId === picked.plotId) : undefined;
  const inHand = new Set(
    picked.kind === 'plot'
      ? [picked.plotId]
      : picked.kind === 'all'
        ? outlines.filter(isPlot).map((outline) => outline.plotId)
        : (trial?.strips.map((strip) => strip.plotId) ?? []),
  );
  const pickedName = picked.kind === 'plot' ? (names.get(picked.plotId) ?? 'the plot') : '';

  const together = picked.kind === 'all' ? outlines.filter(isPlot).flatMap((outline) => outline.corners) : [];
  const frame = together.length > 0 ? frameRound(together) : null;

  const handles: StageHandle[] = [];
  const corners =
    pickedOutline?.corners ?? (trial && !drawing ? work.stakes[trial.id] : undefined) ?? (drawing ? taps : []);
  for (const [i, at] of corners.entries())
    handles.push({
      key: `corner-${i}`,
      at,
      label: trial ? `The ${stakeNames[i]} stake` : `Corner ${stakeNames[i] ?? i + 1} of ${pickedName}`,
    });
  if (frame) {
    for (const [i, at] of frame.entries())
      handles.push({
        key: `frame-${i}`,
        at,
        kind: 'frame',
        label: keepShape
          ? `Turn and size all about the other corner, from ${stakeNames[i]}`
          : `Pull all by the ${stakeNames[i]} corner`,
      });
    handles.push({ key: 'middle', at: middleOf(frame), kind: 'middle', label: 'Move all' });
  }

  const apply = ({ work: next, say }: Step, done = true) => {
    setSaid(say ?? '');
    take(next, done);
  };
  const onTap = (place: Point, pxPerScreenPx: number) => {
    // A second tap on the same spot is a slip of the finger, not another corner.
    if (drawing && taps.some(([x, y]) => Math.hypot(x - place[0], y - place[1]) < 10 * pxPerScreenPx)) return;
    const step = tapAt(work, place, order, trials);
    if (drawing) apply(step);
    else look(step.work);
  };
  const onDrag = (key: string, to: Point, done: boolean) => {
    const from = (dragFrom.current ??= work);
    if (done) dragFrom.current = null;
    const index = Number(key.split('-')[1]);
    if (key.startsWith('corner')) {
      apply(moveCorner(from, index, to, trials), done);
      return;
    }
    const all = from.outlines.filter(isPlot).flatMap((outline) => outline.corners);
    if (all.length === 0) return;
    const box = frameRound(all);
    take(moveAll(from, groupMap(box, key === 'middle' ? null : index, to, keepShape), isPlot), done);
  };
  const nudge = (map: (about: Point) => Homography) => frame && take(moveAll(work, map(middleOf(frame)), isPlot));

  /** What was saved is accepted from then on. */
  const saveAndAccept = async (previous: FormResult, data: FormData): Promise<FormResult> => {
    const result = await save(previous, data);
    if (result.ok) accept();
    return result;
  };

  const sentence =
    said ||
    (picked.kind === 'nothing'
      ? outlines.length > 0
        ? 'Everything this viewpoint usually shows is outlined. Tap an outline to mend it, or choose another plot above.'
        : 'Choose above what to outline.'
      : picked.kind === 'all'
        ? keepShape
          ? 'Drag the middle to move all outlines; drag a corner of the frame to turn and size them.'
          : 'Drag the middle to move all outlines; drag a corner of the frame to pull them there.'
        : trial
          ? drawing
            ? `Tap the ${stakeNames[taps.length]} stake of ${trial.name}, as on the map (${taps.length + 1} of 4).`
            : `${trial.strips.length} strips lie by their map. Drag a stake where it does not sit.`
          : drawing
            ? `Tap the ${stakeNames[taps.length]} corner of ${pickedName} (${taps.length + 1} of 4).`
            : `Drag the corners of ${pickedName}, or focus one and use the arrow keys.`);
  const hadOutlines = start.length > 0;
  return (
    <div>
      {draftAtMs !== null && (
        <div className="notice" role="status">
          <p>These outlines were not saved yet; they are as you left them on this device.</p>
          <button type="button" onClick={throwAway}>
            Throw them away
          </button>
        </div>
      )}
      <PlotPicker
        likely={likely}
        more={more}
        boards={boards}
        trials={trials}
        outlined={new Set(outlines.map((outline) => outline.plotId))}
        picked={picked}
        onPick={(next: Picked) => {
          setSaid('');
          look(pick(work, next));
        }}
      />
      <p className="soft outline-say" aria-live="polite">
        {sentence}
      </p>
      {trial && drawing && <StakeGuide trial={trial} wanted={taps.length} />}
      <PhotoStage
        photoId={photoId}
        widthPx={widthPx}
        heightPx={heightPx}
        alt={alt}
        label="Outlines"
        handles={handles}
        onTap={onTap}
        onDrag={onDrag}
        overlay={
          showMap && (
            <img
              src={`/api/photos/${photoId}/map?from=${mapRange.from}&to=${mapRange.to}`}
              alt="Greenness map"
              style={{ position: 'absolute', inset: 0, height: '100%' }}
            />
          )
        }
      >
        <OutlineShapes outlines={outlines} names={names} picked={inHand} />
        {marks.map((mark) => (
          <polygon key={mark.id} className="mark-shape" points={points(mark.polygon)}>
            <title>{mark.label}</title>
          </polygon>
        ))}
        {frame && <polygon className="outline-frame" points={points(frame)} />}
        {drawing && taps.length > 1 && <polyline className="tap-line" points={points(taps)} />}
      </PhotoStage>
      {picked.kind === 'all' && frame && (
        <div className="row outline-tools" role="group" aria-label="All outlines together">
          <label className="tick">
            <input type="checkbox" checked={keepShape} onChange={(event) => setKeepShape(event.target.checked)} /> Keep
            the shape
          </label>
          <button type="button" onClick={() => nudge((about) => turnAndSize(about, 1, -1))}>
            Turn left
          </button>
          <button type="button" onClick={() => nudge((about) => turnAndSize(about, 1, 1))}>
            Turn right
          </button>
          <button type="button" onClick={() => nudge((about) => turnAndSize(about, 1.02, 0))}>
            Larger
          </button>
          <button type="button" onClick={() => nudge((about) => turnAndSize(about, 1 / 1.02, 0))}>
            Smaller
          </button>
        </div>
      )}
      <div className="row outline-tools">
        {canGoBack && (
          <button type="button" onClick={back}>
            Step back
          </button>
        )}
        {drawing && (
          <button type="button" onClick={() => apply(placeRectangle(work, widthPx, heightPx, trials))}>
            Place a rectangle
          </button>
        )}
        {!drawing && picked.kind !== 'nothing' && (inHand.size > 0 || pickedOutline) && (
          <button type="button" className="button-warn" onClick={() => take(removePicked(work, trials))}>
            {picked.kind === 'plot' ? 'Remove this outline' : `Remove these ${inHand.size} outlines`}
          </button>
        )}
        <label className="tick">
          <input type="checkbox" checked={showMap} onChange={(event) => setShowMap(event.target.checked)} /> Greenness
          map
        </label>
      </div>
      {(changed || outlines.length > 0) && (
        <ActionForm
          action={saveAndAccept}
          submit={
            outlines.length === 0 && hadOutlines
              ? 'Save without outlines'
              : changed || outlines.some((outline) => !outline.accepted)
                ? 'Save the outlines and measure'
                : 'Read the colour again'
          }
          busy="Measuring …"
        >
          <input
            type="hidden"
            name="outlines"
            value={JSON.stringify(outlines.map(({ plotId, corners }) => ({ plotId, corners })))}
          />
        </ActionForm>
      )}
    </div>
  );
}

/**
 * How all outlines follow a handle of the frame round them: the middle moves them, a corner turns and sizes them or
 * pulls them along.
 */
function groupMap(box: Point[], corner: number | null, to: Point, keepShape: boolean): Homography {
  const middle = middleOf(box);
  if (corner === null) return shiftBy(to[0] - middle[0], to[1] - middle[1]);
  const map = keepShape
    ? turnAndSizeOnto(box[(corner + 2) % 4] as Point, box[corner] as Point, to)
    : homographyFrom4(
        box,
        box.map((at, i) => (i === corner ? to : at)),
      );
  return map ?? shiftBy(0, 0);
}
