/** How far a picture is enlarged in its frame and by how much it is moved, in pixels of the frame. */
export interface Zoom {
  readonly scale: number;
  readonly x: number;
  readonly y: number;
}

export const START: Zoom = { scale: 1, x: 0, y: 0 };
const MOST = 8;

interface Box {
  readonly width: number;
  readonly height: number;
}

/** Keeps the frame full: the picture never leaves its edges. */
function held({ scale, x, y }: Zoom, { width, height }: Box): Zoom {
  return { scale, x: Math.min(0, Math.max(width * (1 - scale), x)), y: Math.min(0, Math.max(height * (1 - scale), y)) };
}

/**
 * Enlarged by a factor about a point of the frame, which stays where it is; between the whole picture and eight times
 * that.
 */
export function closer(view: Zoom, factor: number, at: { readonly x: number; readonly y: number }, box: Box): Zoom {
  const scale = Math.min(MOST, Math.max(1, view.scale * factor));
  const by = scale / view.scale;
  return held({ scale, x: at.x - (at.x - view.x) * by, y: at.y - (at.y - view.y) * by }, box);
}

/** Moved by so many pixels of the frame. */
export const panned = (view: Zoom, dx: number, dy: number, box: Box): Zoom =>
  held({ ...view, x: view.x + dx, y: view.y + dy }, box);
