import type { Point } from '@/lib/photo/raster/pixels';

const sizePx = 132;

/**
 * A piece cut out of a photo, with a ring round the place that is meant. `share` is how much of the photo's long side
 * it shows.
 */
export function Cutout({
  photoId,
  widthPx,
  heightPx,
  at,
  share = 0.13,
  label,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  at: Point;
  share?: number;
  label: string;
}) {
  const scale = sizePx / (share * Math.max(widthPx, heightPx));
  return (
    <div
      className="cutout"
      role="img"
      aria-label={label}
      style={{
        backgroundImage: `url(/api/photos/${photoId}?width=1600)`,
        backgroundSize: `${widthPx * scale}px ${heightPx * scale}px`,
        backgroundPosition: `${sizePx / 2 - 2 - (at[0] + 0.5) * scale}px ${sizePx / 2 - 2 - (at[1] + 0.5) * scale}px`,
      }}
    />
  );
}
