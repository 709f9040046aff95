'use client';
import { useCallback, useMemo, useRef, useState, type KeyboardEvent, type PointerEvent } from 'react';
import { ActionForm } from '@/app/_ui/action-form';
import type { FormResult } from '@/lib/forms/result';
import type { Point } from '@/lib/photo/pixels';

export interface EditorPlot {
  id: string;
  name: string;
  isCheck: boolean;
  /** A grey card or colour chart: it may be outlined, but needn't. */
  isBoard?: boolean;
}

export interface EditorOutline {
  plotId: string;
  corners: Point[];
  accepted: boolean;
}

export interface EditorMark {
  id: string;
  label: string;
  polygon: Point[];
}

const points = (corners: readonly Point[]) => corners.map(([x, y]) => `${x},${y}`).join(' ');

/** What fits on a strip in the photo: the first word of the plot's name. */
const shortName = (name: string) => name.split(/[\s·,;:]+/)[0] ?? name;

const cornerNames = ['far left', 'far right', 'near right', 'near left'];

/**
 * Draws the outlines of plots on a photo. Four taps make an outline; corners are dragged by finger or mouse, or moved
 * with the arrow keys (Shift for larger steps). All coordinates are pixels of the upright full-size photo.
 */
export function OutlineEditor({
  photoId,
  widthPx,
  heightPx,
  alt,
  plots,
  start,
  marks,
  hasMap,
  save,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  alt: string;
  plots: EditorPlot[];
  start: EditorOutline[];
  marks: EditorMark[];
  hasMap: boolean;
  save: (previous: FormResult, data: FormData) => Promise<FormResult>;
}) {
  const [outlines, setOutlines] = useState<EditorOutline[]>(start);
  const [pickedPlot, setPickedPlot] = useState<string>(() => plots.find((plot) => !plot.isBoard && !start.some((outline) => outline.plotId === plot.id))?.id ?? plots[0]?.id ?? '');
  const [taps, setTaps] = useState<Point[]>([]);
  const [showMap, setShowMap] = useState(false);
  const [dirty, setDirty] = useState(start.some((outline) => !outline.accepted));
  const svg = useRef<SVGSVGElement>(null);
  const drag = useRef<{ plotId: string; index: number; before: Point; from: Point } | null>(null);
  const radius = Math.max(widthPx, heightPx) / 70;

  const plotName = useMemo(() => new Map(plots.map((plot) => [plot.id, plot.name])), [plots]);
  const picked = outlines.find((outline) => outline.plotId === pickedPlot);

  const toPhoto = useCallback((event: PointerEvent): Point => {
    const box = svg.current?.getBoundingClientRect();
    if (!box) return [0, 0];
    return [((event.clientX - box.left) / box.width) * widthPx - 0.5, ((event.clientY - box.top) / box.height) * heightPx - 0.5];
  }, [widthPx, heightPx]);

  const within = (x: number, y: number): Point => [Math.min(Math.max(x, -0.5), widthPx - 0.5), Math.min(Math.max(y, -0.5), heightPx - 0.5)];

  const setCorner = (plotId: string, index: number, corner: Point) => {
    setDirty(true);
    setOutlines((all) =>
      all.map((outline) => (outline.plotId === plotId ? { ...outline, corners: outline.corners.map((old, i) => (i === index ? corner : old)) } : outline)),
    );
  };

  const addTap = (tap: Point) => {
    if (!pickedPlot || picked) return;
    const next = [...taps, within(tap[0], tap[1])];
    if (next.length < 4) {
      setTaps(next);
      return;
    }
    setTaps([]);
    setDirty(true);
    setOutlines((all) => [...all, { plotId: pickedPlot, corners: next, accepted: true }]);
  };

  const onKey = (event: KeyboardEvent, plotId: string, index: number, corner: Point) => {
    const step = event.shiftKey ? widthPx / 50 : widthPx / 500;
    const moves: Record<string, Point> = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    setCorner(plotId, index, within(corner[0] + move[0], corner[1] + move[1]));
  };

  const removeOutline = () => {
    setDirty(true);
    setOutlines((all) => all.filter((outline) => outline.plotId !== pickedPlot));
    setTaps([]);
  };

  /** An outline for the keyboard: a rectangle in the middle, to be moved corner by corner. */
  const placeRectangle = () => {
    setTaps([]);
    setDirty(true);
    const [left, right, top, bottom] = [widthPx * 0.35, widthPx * 0.65, heightPx * 0.35, heightPx * 0.65];
    setOutlines((all) => [...all, { plotId: pickedPlot, corners: [[left, top], [right, top], [right, bottom], [left, bottom]], accepted: true }]);
  };

  /** What was saved is accepted from then on. */
  const saveAndAccept = async (previous: FormResult, data: FormData): Promise<FormResult> => {
    const result = await save(previous, data);
    if (result.ok) {
      setDirty(false);
      setOutlines((all) => all.map((outline) => ({ ...outline, accepted: true })));
    }
    return result;
  };

  return (
    <div>
      <div className="row" role="radiogroup" aria-label="Plot to outline" style={{ marginBottom: '0.5rem' }}>
        {plots.map((plot) => {
          const outlined = outlines.some((outline) => outline.plotId === plot.id);
          return (
            <button
              key={plot.id}
              type="button"
              role="radio"
              aria-checked={plot.id === pickedPlot}
              className={plot.id === pickedPlot ? 'button-main' : ''}
              onClick={() => {
                setPickedPlot(plot.id);
                setTaps([]);
              }}
            >
              {plot.name}
              {plot.isCheck ? ' (check)' : ''} {outlined ? '✓' : ''}
            </button>
          );
        })}
      </div>
      <p className="soft" aria-live="polite">
        {picked
          ? `Drag the corners of ${plotName.get(pickedPlot)}, or focus one and use the arrow keys.`
          : `Tap the ${cornerNames[taps.length]} corner of ${plotName.get(pickedPlot) ?? 'the plot'} (${taps.length + 1} of 4).`}
      </p>
      <div className="stage">
        <img src={`/api/photos/${photoId}?width=1600`} alt={alt} width={widthPx} height={heightPx} />
        {showMap && <img src={`/api/photos/${photoId}/map`} alt="Greenness map" style={{ position: 'absolute', inset: 0, height: '100%' }} />}
        <svg
          ref={svg}
          viewBox={`-0.5 -0.5 ${widthPx} ${heightPx}`}
          preserveAspectRatio="none"
          role="group"
          aria-label="Outlines"
          onPointerDown={(event) => {
            if (event.target === svg.current || !(event.target as Element).classList.contains('corner')) addTap(toPhoto(event));
          }}
          onPointerMove={(event) => {
            const held = drag.current;
            if (!held) return;
            const [x, y] = toPhoto(event);
            setCorner(held.plotId, held.index, within(held.before[0] + x - held.from[0], held.before[1] + y - held.from[1]));
          }}
          onPointerUp={() => (drag.current = null)}
          onPointerCancel={() => (drag.current = null)}
        >
          {outlines.map((outline) => (
            <g key={outline.plotId}>
              <polygon className="outline-shadow" points={points(outline.corners)} />
              <polygon
                className={`outline${outline.plotId === pickedPlot ? ' outline-picked' : ''}`}
                points={points(outline.corners)}
                strokeDasharray={outline.accepted ? undefined : '10 8'}
                onPointerDown={(event) => {
                  // While a plot is being drawn every tap is a corner: strips side by side share theirs.
                  if (!picked) return;
                  event.stopPropagation();
                  setPickedPlot(outline.plotId);
                }}
              />
              <text
                x={outline.corners.reduce((sum, [x]) => sum + x, 0) / outline.corners.length}
                y={outline.corners.reduce((sum, [, y]) => sum + y, 0) / outline.corners.length}
                fontSize={radius * 2.4}
                strokeWidth={radius / 3}
                textAnchor="middle"
              >
                {shortName(plotName.get(outline.plotId) ?? '')}
              </text>
            </g>
          ))}
          {marks.map((mark) => (
            <polygon key={mark.id} className="mark-shape" points={points(mark.polygon)}>
              <title>{mark.label}</title>
            </polygon>
          ))}
          {picked?.corners.map((corner, index) => (
            <circle
              // eslint-disable-next-line react/no-array-index-key -- a corner is its place in the outline
              key={index}
              className="corner"
              cx={corner[0]}
              cy={corner[1]}
              r={radius}
              tabIndex={0}
              role="slider"
              aria-label={`Corner ${cornerNames[index] ?? index + 1} of ${plotName.get(picked.plotId)}`}
              aria-valuenow={Math.round(corner[0])}
              aria-valuetext={`${Math.round(corner[0])} across, ${Math.round(corner[1])} down`}
              onKeyDown={(event) => onKey(event, picked.plotId, index, corner)}
              onPointerDown={(event) => {
                event.stopPropagation();
                event.currentTarget.setPointerCapture(event.pointerId);
                drag.current = { plotId: picked.plotId, index, before: corner, from: toPhoto(event) };
              }}
            />
          ))}
          {taps.map(([x, y]) => (
            <circle key={`${x},${y}`} className="corner" cx={x} cy={y} r={radius * 0.7} />
          ))}
        </svg>
      </div>
      <div className="row" style={{ margin: '0.6rem 0' }}>
        {picked ? (
          <button type="button" className="button-warn" onClick={removeOutline}>
            Remove this outline
          </button>
        ) : (
          <>
            {taps.length > 0 && (
              <button type="button" onClick={() => setTaps(taps.slice(0, -1))}>
                Take back a tap
              </button>
            )}
            {pickedPlot && (
              <button type="button" onClick={placeRectangle}>
                Place a rectangle
              </button>
            )}
          </>
        )}
        {hasMap && (
          <label className="tick">
            <input type="checkbox" checked={showMap} onChange={(event) => setShowMap(event.target.checked)} /> Greenness map
          </label>
        )}
      </div>
      <ActionForm action={saveAndAccept} submit={dirty ? 'Save the outlines and measure' : 'Measure again'} busy="Measuring …">
        <input type="hidden" name="outlines" value={JSON.stringify(outlines.map(({ plotId, corners }) => ({ plotId, corners })))} />
      </ActionForm>
    </div>
  );
}
