'use client';
import {
  useCallback,
  useEffect,
  useImperativeHandle,
  useRef,
  useState,
  type CSSProperties,
  type KeyboardEvent,
  type PointerEvent,
  type ReactNode,
  type Ref,
} from 'react';
import { photoSources } from '@/app/_ui/photo-sources';
import type { Point } from '@/lib/photo/raster/pixels';
import { Loupe } from './loupe';

/** Something on the photo that is dragged by finger, mouse or arrow keys. */
export interface StageHandle {
  key: string;
  at: Point;
  label: string;
  kind?: 'corner' | 'frame' | 'middle';
}

/** What a page may ask of the stage. */
export interface StageView {
  /** Brings a place of the photo to the middle, enlarged. */
  lookAt: (place: Point, zoom: number) => void;
  whole: () => void;
}

const most = 10;
/** How near a finger must be to a handle's middle: half of 44 px. */
const reachPx = 22;
/** A mouse that moved farther than this between down and up has dragged, not clicked. */
const clickSlopPx = 6;

/**
 * A photo to work on by finger: a swipe scrolls the page (or the photo, when it is enlarged), a pinch enlarges, a tap
 * is a tap. Handles are 44 px whatever the size, and a loupe shows what lies under the finger that drags one.
 */
export function PhotoStage({
  photoId,
  widthPx,
  heightPx,
  alt,
  handles,
  onTap,
  onDrag,
  overlay,
  label,
  view,
  children,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  alt: string;
  handles: readonly StageHandle[];
  /** A tap that was no drag: where in the photo, and how many pixels of the photo one of the screen covers there. */
  onTap: (place: Point, photoPxPerScreenPx: number) => void;
  /** A handle was moved to a place; `done` when it is let go. */
  onDrag: (key: string, to: Point, done: boolean) => void;
  overlay?: ReactNode;
  label: string;
  view?: Ref<StageView>;
  /** What is drawn over the photo, in the photo's own pixels. */
  children: ReactNode;
}) {
  const frame = useRef<HTMLDivElement>(null);
  const inner = useRef<HTMLDivElement>(null);
  const [zoom, setZoom] = useState(1);
  const zoomNow = useRef(1);
  const drag = useRef<{ key: string; before: Point; from: Point; at: Point; moved: boolean } | null>(null);
  const [held, setHeld] = useState<{ at: Point; clientX: number; clientY: number; shownWidthPx: number } | null>(null);
  const pressed = useRef<{ x: number; y: number; left: number; top: number; panning: boolean } | null>(null);
  const wasDrag = useRef(false);

  const toPhoto = useCallback(
    (clientX: number, clientY: number): Point => {
      const box = inner.current?.getBoundingClientRect();
      if (!box) return [0, 0];
      return [((clientX - box.left) / box.width) * widthPx - 0.5, ((clientY - box.top) / box.height) * heightPx - 0.5];
    },
    [widthPx, heightPx],
  );
  const within = ([x, y]: Point): Point => [
    Math.min(Math.max(x, -0.5), widthPx - 0.5),
    Math.min(Math.max(y, -0.5), heightPx - 0.5),
  ];

  /** Enlarges so that the part of the photo (0..1) stays, or comes, under the screen's point. */
  const zoomTo = useCallback((wanted: number, part: readonly [number, number], clientX: number, clientY: number) => {
    const next = Math.min(most, Math.max(1, wanted));
    zoomNow.current = next;
    setZoom(next);
    const outer = frame.current;
    const box = outer?.getBoundingClientRect();
    if (!outer || !box || !inner.current) return;
    // At once, and not at the next render: the scroll position below is of the new size.
    inner.current.style.width = `${next * 100}%`;
    outer.classList.toggle('stage-near', next > 1);
    outer.scrollLeft = part[0] * inner.current.offsetWidth - (clientX - box.left);
    outer.scrollTop = part[1] * inner.current.offsetHeight - (clientY - box.top);
  }, []);
  const partAt = useCallback((clientX: number, clientY: number): readonly [number, number] => {
    const box = inner.current?.getBoundingClientRect();
    return box ? [(clientX - box.left) / box.width, (clientY - box.top) / box.height] : [0.5, 0.5];
  }, []);
  const zoomMiddle = (factor: number) => {
    const box = frame.current?.getBoundingClientRect();
    if (!box) return;
    const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
    zoomTo(zoomNow.current * factor, partAt(x, y), x, y);
  };

  useImperativeHandle(
    view,
    () => ({
      lookAt: ([x, y], wanted) => {
        const box = frame.current?.getBoundingClientRect();
        if (box)
          zoomTo(
            wanted,
            [(x + 0.5) / widthPx, (y + 0.5) / heightPx],
            box.left + box.width / 2,
            box.top + box.height / 2,
          );
      },
      whole: () => zoomTo(1, [0, 0], 0, 0),
    }),
    [zoomTo, widthPx, heightPx],
  );

  // Two fingers and the wheel must be stopped from doing the browser's own, which React's listeners can't.
  useEffect(() => {
    const outer = frame.current;
    if (!outer) return;
    let pinch: { distance: number; zoom: number; part: readonly [number, number] } | null = null;
    const spread = ({ touches }: TouchEvent) => {
      const [a, b] = [touches[0] as Touch, touches[1] as Touch];
      return {
        distance: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) || 1,
        x: (a.clientX + b.clientX) / 2,
        y: (a.clientY + b.clientY) / 2,
      };
    };
    const start = (event: TouchEvent) => {
      if (event.touches.length !== 2 || drag.current) return;
      event.preventDefault();
      const { distance, x, y } = spread(event);
      pinch = { distance, zoom: zoomNow.current, part: partAt(x, y) };
    };
    const move = (event: TouchEvent) => {
      if (!pinch || event.touches.length !== 2) return;
      if (event.cancelable) event.preventDefault();
      const { distance, x, y } = spread(event);
      zoomTo((pinch.zoom * distance) / pinch.distance, pinch.part, x, y);
    };
    const end = (event: TouchEvent) => {
      if (event.touches.length < 2) pinch = null;
    };
    const wheel = (event: WheelEvent) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      zoomTo(
        zoomNow.current * Math.exp(-event.deltaY / 200),
        partAt(event.clientX, event.clientY),
        event.clientX,
        event.clientY,
      );
    };
    outer.addEventListener('touchstart', start, { passive: false });
    outer.addEventListener('touchmove', move, { passive: false });
    outer.addEventListener('touchend', end);
    outer.addEventListener('touchcancel', end);
    outer.addEventListener('wheel', wheel, { passive: false });
    return () => {
      outer.removeEventListener('touchstart', start);
      outer.removeEventListener('touchmove', move);
      outer.removeEventListener('touchend', end);
      outer.removeEventListener('touchcancel', end);
      outer.removeEventListener('wheel', wheel);
    };
  }, [zoomTo, partAt]);

  const shownWidth = () => inner.current?.offsetWidth ?? 1;

  const onDown = (event: PointerEvent) => {
    wasDrag.current = false;
    if (!event.isPrimary || event.button !== 0) return;
    const onHandle = (event.target as Element).closest('.stage-handle') !== null;
    const here = toPhoto(event.clientX, event.clientY);
    const scale = shownWidth() / widthPx;
    // Handles of a small plot overlap: the nearest is meant.
    const nearest = handles
      .map((handle) => ({ handle, px: Math.hypot(handle.at[0] - here[0], handle.at[1] - here[1]) * scale }))
      .filter(({ px }) => px <= reachPx * 1.5)
      .sort((a, b) => a.px - b.px)[0];
    if (onHandle && nearest) {
      event.currentTarget.setPointerCapture(event.pointerId);
      drag.current = {
        key: nearest.handle.key,
        before: nearest.handle.at,
        from: here,
        at: nearest.handle.at,
        moved: false,
      };
      return;
    }
    pressed.current = {
      x: event.clientX,
      y: event.clientY,
      left: frame.current?.scrollLeft ?? 0,
      top: frame.current?.scrollTop ?? 0,
      panning: event.pointerType === 'mouse' && zoomNow.current > 1,
    };
  };
  const onMove = (event: PointerEvent) => {
    const holding = drag.current;
    if (holding && event.isPrimary) {
      const [x, y] = toPhoto(event.clientX, event.clientY);
      const far = (Math.hypot(x - holding.from[0], y - holding.from[1]) * shownWidth()) / widthPx;
      if (!holding.moved && far < 3) return;
      holding.moved = true;
      holding.at = within([holding.before[0] + x - holding.from[0], holding.before[1] + y - holding.from[1]]);
      setHeld({ at: holding.at, clientX: event.clientX, clientY: event.clientY, shownWidthPx: shownWidth() });
      onDrag(holding.key, holding.at, false);
      return;
    }
    const press = pressed.current;
    if (!press || event.pointerType !== 'mouse' || event.buttons === 0) return;
    if (Math.hypot(event.clientX - press.x, event.clientY - press.y) > clickSlopPx) wasDrag.current = true;
    if (press.panning && wasDrag.current && frame.current) {
      frame.current.scrollLeft = press.left - (event.clientX - press.x);
      frame.current.scrollTop = press.top - (event.clientY - press.y);
    }
  };
  const onUp = () => {
    const holding = drag.current;
    drag.current = null;
    pressed.current = null;
    setHeld(null);
    if (!holding?.moved) return;
    wasDrag.current = true;
    onDrag(holding.key, holding.at, true);
  };

  const onKey = (event: KeyboardEvent, handle: StageHandle) => {
    const step = event.shiftKey ? widthPx / 50 : widthPx / 500;
    const moves: Record<string, Point> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, -step],
      ArrowDown: [0, step],
    };
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    onDrag(handle.key, within([handle.at[0] + move[0], handle.at[1] + move[1]]), true);
  };

  return (
    <div className="stage-hold">
      <div
        ref={frame}
        className={`stage stage-work${zoom > 1 ? ' stage-near' : ''}`}
        style={{ aspectRatio: `${widthPx} / ${heightPx}`, width: `min(100%, ${(82 * widthPx) / heightPx}vh)` }}
        // eslint-disable-next-line jsx-a11y/no-noninteractive-tabindex -- an enlarged photo is scrolled by keyboard too
        tabIndex={zoom > 1 ? 0 : undefined}
        role="group"
        aria-label={label}
      >
        <div
          ref={inner}
          className="stage-inner"
          style={
            {
              width: `${zoom * 100}%`,
              aspectRatio: `${widthPx} / ${heightPx}`,
              '--zoom': zoom ** 0.7,
              '--text': `${Math.max(widthPx, heightPx) / 28}px`,
            } as CSSProperties
          }
          onPointerDown={onDown}
          onPointerMove={onMove}
          onPointerUp={onUp}
          onPointerCancel={onUp}
          onClick={(event) => {
            // A click without a place comes from the keyboard, on a handle.
            if (wasDrag.current || event.detail === 0) return;
            onTap(within(toPhoto(event.clientX, event.clientY)), widthPx / shownWidth());
          }}
        >
          <img
            {...photoSources(photoId, widthPx, heightPx, `${Math.round(zoom * 100)}vw`)}
            alt={alt}
            width={widthPx}
            height={heightPx}
            draggable={false}
          />
          {overlay}
          <svg viewBox={`-0.5 -0.5 ${widthPx} ${heightPx}`} preserveAspectRatio="none" aria-hidden>
            {children}
          </svg>
          {handles.map((handle) => (
            <button
              key={handle.key}
              type="button"
              className={`stage-handle stage-handle-${handle.kind ?? 'corner'}`}
              style={{
                left: `${((handle.at[0] + 0.5) / widthPx) * 100}%`,
                top: `${((handle.at[1] + 0.5) / heightPx) * 100}%`,
              }}
              aria-label={handle.label}
              aria-describedby="stage-keys"
              onKeyDown={(event) => onKey(event, handle)}
            />
          ))}
        </div>
      </div>
      {held && <Loupe photoId={photoId} widthPx={widthPx} heightPx={heightPx} {...held} />}
      <div className="row stage-zoom">
        <button
          type="button"
          onClick={() => zoomMiddle(1 / 1.6)}
          disabled={zoom <= 1}
          aria-label="Show the photo smaller"
        >
          −
        </button>
        <button
          type="button"
          onClick={() => zoomMiddle(1.6)}
          disabled={zoom >= most}
          aria-label="Show the photo larger"
        >
          +
        </button>
        {zoom > 1 && (
          <button type="button" onClick={() => zoomTo(1, [0, 0], 0, 0)}>
            Whole photo
          </button>
        )}
        <span className="soft" id="stage-keys">
          {zoom > 1
            ? `${zoom.toFixed(1)} ×`
            : 'Two fingers enlarge. Arrow keys move what is focused, with Shift farther.'}
        </span>
      </div>
    </div>
  );
}
