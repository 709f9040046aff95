import Link from 'next/link';
import { dayText, spanText, timeText, type Reader } from '@/lib/units/dates';

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
        src={`/api/photos/${photo.id}?width=320`}
        alt={`Photo of ${dayText(photo.takenAt, reader)}, ${photo.fileName}`}
        loading="lazy"
        width={320}
        height={240}
      />
      <span>
        {dayText(photo.takenAt, reader)}, {timeText(photo.takenAt, reader)}
      </span>
      {since && <span className="soft"> · {spanText(since, photo.takenAt)} after</span>}
      {children}
    </Link>
  );
}
