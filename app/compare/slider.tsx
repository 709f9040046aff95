'use client';
import { useEffect, useRef, useState, type CSSProperties, type KeyboardEvent, type PointerEvent } from 'react';
import { photoSources } from '@/app/_ui/photo-sources';
import { closer, panned, START, type Zoom } from '@/lib/photo/raster/zoom';

interface Shown {
  id: string;
  alt: string;
  label: string;
  width: number;
  height: number;
}

interface Overlay {
  outlines: readonly { plotId: string; name: string; corners: readonly (readonly [number, number])[] }[];
  marks: readonly { id: string; label: string; polygon: readonly (readonly [number, number])[] }[];
}

const path = (points: readonly (readonly [number, number])[]) => points.map(([x, y]) => `${x},${y}`).join(' ');

/**
 * Two photos one over the other; the slider shows more of the one or the other. `matrix3d` lays the earlier onto the
 * later. Buttons, the wheel, two fingers or + and − enlarge; then one finger or the arrow keys move. Outlines and marks
 * are the later photo's.
 */
export function Slider({
  before,
  after,
  matrix3d,
  overlay,
}: {
  before: Shown;
  after: Shown;
  matrix3d: string | null;
  overlay: Overlay;
}) {
  const [share, setShare] = useState(50);
  const [width, setWidth] = useState(0);
  const [view, setView] = useState<Zoom>(START);
  const [drawn, setDrawn] = useState(true);
  const stage = useRef<HTMLDivElement>(null);
  const fingers = useRef(new Map<number, { x: number; y: number }>());
  const height = (width * after.height) / after.width;
  useEffect(() => {
    const element = stage.current;
    if (!element) return;
    const observer = new ResizeObserver(([entry]) => entry && setWidth(entry.contentRect.width));
    observer.observe(element);
    // React listens passively, and a wheel that enlarges must not scroll the page as well.
    const wheel = (event: WheelEvent) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      const box = element.getBoundingClientRect();
      setView((now) =>
        closer(now, Math.exp(-event.deltaY / 300), { x: event.clientX - box.left, y: event.clientY - box.top }, box),
      );
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => {
      observer.disconnect();
      element.removeEventListener('wheel', wheel);
    };
  }, []);
  const scale = width / after.width;
  const shown = `${Math.round(view.scale * 100)}vw`;
  const box = { width, height };
  const middle = { x: width / 2, y: height / 2 };
  const zoom = (factor: number) => setView((now) => closer(now, factor, middle, box));
  const move = (event: PointerEvent<HTMLDivElement>) => {
    const known = fingers.current.get(event.pointerId);
    if (!known) return;
    const at = { x: event.clientX, y: event.clientY };
    const other = [...fingers.current].find(([id]) => id !== event.pointerId)?.[1];
    fingers.current.set(event.pointerId, at);
    if (!other) return setView((now) => panned(now, at.x - known.x, at.y - known.y, box));
    const edge = event.currentTarget.getBoundingClientRect();
    const apart = (one: { x: number; y: number }) => Math.max(1, Math.hypot(one.x - other.x, one.y - other.y));
    setView((now) =>
      closer(
        now,
        apart(at) / apart(known),
        { x: (at.x + other.x) / 2 - edge.left, y: (at.y + other.y) / 2 - edge.top },
        edge,
      ),
    );
  };
  const keys = (event: KeyboardEvent<HTMLDivElement>) => {
    const step = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[event.key];
    if (step && view.scale > 1) {
      event.preventDefault();
      setView((now) => panned(now, step[0]!, step[1]!, box));
    } else if (event.key === '+' || event.key === '=') zoom(1.5);
    else if (event.key === '-') zoom(1 / 1.5);
    else if (event.key === '0') setView(START);
  };
  const put = `translate(${view.x}px, ${view.y}px) scale(${view.scale})`;
  return (
    <div>
      <div
        ref={stage}
        className="stage compare-stage"
        style={{
          touchAction: view.scale > 1 ? 'none' : 'pan-y',
          aspectRatio: `${after.width} / ${after.height}`,
          cursor: view.scale > 1 ? 'grab' : undefined,
        }}
        tabIndex={0}
        role="group"
        aria-label="The two photos; plus and minus enlarge, arrow keys move"
        onKeyDown={keys}
        onPointerDown={(event) => {
          fingers.current.set(event.pointerId, { x: event.clientX, y: event.clientY });
          if (view.scale > 1) event.currentTarget.setPointerCapture(event.pointerId);
        }}
        onPointerMove={move}
        onPointerUp={(event) => fingers.current.delete(event.pointerId)}
        onPointerCancel={(event) => fingers.current.delete(event.pointerId)}
        onPointerLeave={(event) => fingers.current.delete(event.pointerId)}
      >
        <div className="compare-layer" style={{ transform: put }}>
          <img
            {...photoSources(after.id, after.width, after.height, shown)}
            alt={after.alt}
            width={after.width}
            height={after.height}
            style={{ position: 'absolute', inset: 0, height: '100%' }}
          />
        </div>
        <div className="compare-layer" style={{ clipPath: `inset(0 ${100 - share}% 0 0)` }}>
          <div className="compare-layer" style={{ transform: put }}>
            <img
              {...photoSources(before.id, before.width, before.height, shown)}
              alt={before.alt}
              style={
                matrix3d
                  ? {
                      position: 'absolute',
                      left: 0,
                      top: 0,
                      width: `${before.width}px`,
                      height: `${before.height}px`,
                      maxWidth: 'none',
                      transformOrigin: '0 0',
                      // The inner transform works in the later photo's pixels; the outer scale brings those to the
                      // stage's width.
                      transform: `scale(${scale}) ${matrix3d}`,
                    }
                  : { position: 'absolute', inset: 0, width: '100%', height: '100%' }
              }
            />
          </div>
        </div>
        {drawn && (
          <div className="compare-layer" style={{ transform: put, '--zoom': view.scale } as CSSProperties}>
            <svg viewBox={`0 0 ${after.width} ${after.height}`} aria-hidden="true">
              {overlay.outlines.map((outline) => (
                <g key={outline.plotId}>
                  <polygon className="outline-shadow" points={path(outline.corners)} />
                  <polygon className="outline" points={path(outline.corners)} />
                </g>
              ))}
              {overlay.marks.map((mark) => (
                <polygon key={mark.id} className="mark-ring" points={path(mark.polygon)} />
              ))}
            </svg>
          </div>
        )}
        {drawn &&
          overlay.outlines.map((outline) => {
            const [x, y] = middleOf(outline.corners);
            return (
              <span
                key={outline.plotId}
                className="band-name compare-name"
                style={{ left: view.x + x * scale * view.scale, top: view.y + y * scale * view.scale }}
              >
                {outline.name}
              </span>
            );
          })}
        <div
          style={{
            position: 'absolute',
            top: 0,
            bottom: 0,
            left: `${share}%`,
            width: 3,
            marginLeft: -1.5,
            background: '#ffd23f',
            pointerEvents: 'none',
          }}
        />
      </div>
      <label className="field" style={{ marginTop: '0.5rem' }}>
        <span className="row row-end">
          <span>Before: {before.label}</span>
          <span>After: {after.label}</span>
        </span>
        <input
          type="range"
          min={0}
          max={100}
          value={share}
          aria-label="How much of the earlier photo is shown"
          aria-valuetext={`${share} % before, ${100 - share} % after`}
          onChange={(event) => setShare(Number(event.target.value))}
        />
      </label>
      <div className="row">
        <button type="button" className="button-plain" onClick={() => zoom(1.5)} aria-label="Enlarge">
          +
        </button>
        <button
          type="button"
          className="button-plain"
          onClick={() => zoom(1 / 1.5)}
          disabled={view.scale <= 1}
          aria-label="Make smaller"
        >
          −
        </button>
        <button type="button" className="button-plain" onClick={() => setView(START)} disabled={view.scale <= 1}>
          Whole photo
        </button>
        <label className="mark-outline">
          <input type="checkbox" checked={drawn} onChange={(event) => setDrawn(event.target.checked)} /> Outlines and
          marks
        </label>
      </div>
    </div>
  );
}

function middleOf(corners: readonly (readonly [number, number])[]): [number, number] {
  return [
    corners.reduce((sum, [x]) => sum + x, 0) / corners.length,
    Math.max(...corners.map(([, y]) => y)) * 0.25 +
      (corners.reduce((sum, [, y]) => sum + y, 0) / corners.length) * 0.75,
  ];
}
