import type { Point } from '@/lib/photo/raster/pixels';

const sizePx = 132;
/** Times what the stage shows. */
const enlarged = 3;

/** What lies under a finger, beside the finger: above it, or to the side where there is no room above. */
export function Loupe({
  photoId,
  widthPx,
  heightPx,
  at,
  clientX,
  clientY,
  shownWidthPx,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  at: Point;
  clientX: number;
  clientY: number;
  shownWidthPx: number;
}) {
  const width = shownWidthPx * enlarged;
  const height = (width * heightPx) / widthPx;
  const offset = sizePx / 2 + 44;
  const roomAbove = clientY - offset - sizePx / 2 > 0;
  const x = roomAbove ? clientX : clientX + (clientX < globalThis.innerWidth / 2 ? offset : -offset);
  const y = roomAbove ? clientY - offset : clientY;
  const inside = Math.min(Math.max(x, sizePx / 2 + 4), globalThis.innerWidth - sizePx / 2 - 4);
  return (
    <div
      className="loupe"
      aria-hidden
      style={{
        left: inside - sizePx / 2,
        top: y - sizePx / 2,
        width: sizePx,
        height: sizePx,
        // The smaller one is there already where the stage shows it; the larger one covers it as soon as it comes.
        backgroundImage: `url(/api/photos/${photoId}?width=1600), url(/api/photos/${photoId}?width=960)`,
        backgroundSize: `${width}px ${height}px`,
        backgroundPosition: `${sizePx / 2 - ((at[0] + 0.5) / widthPx) * width}px ${sizePx / 2 - ((at[1] + 0.5) / heightPx) * height}px`,
      }}
    />
  );
}
