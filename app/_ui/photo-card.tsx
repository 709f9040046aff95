import Link from 'next/link';
import { dayText, spanText, timeText, type Reader } from '@/lib/units/dates';
import { PRINT_WIDTHS } from '@/lib/photo/raster/print-width';

const [THUMBNAIL_PX] = PRINT_WIDTHS;

/** A photo in a list: its thumbnail, when it was taken, and how long after the spray when that is asked for. */
export function PhotoCard({
  photo,
  reader,
  since,
  children,
}: {
  photo: { id: string; fileName: string; takenAt: Date; measureState: string };
  reader: Reader;
  since?: Date;
  children?: React.ReactNode;
}) {
  return (
    <Link className="photo-card" href={`/photos/${photo.id}`}>
      <img
        src={`/api/photos/${photo.id}?width=${THUMBNAIL_PX}`}
        alt={`Photo of ${dayText(photo.takenAt, reader)}, ${photo.fileName}`}
        loading="lazy"
        width={THUMBNAIL_PX}
        height={(THUMBNAIL_PX * 3) / 4}
      />
      <span>
        {dayText(photo.takenAt, reader)}, {timeText(photo.takenAt, reader)}
      </span>
      {since && <span className="soft"> · {spanText(since, photo.takenAt)} after</span>}
      {children}
    </Link>
  );
}
