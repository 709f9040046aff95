import Link from 'next/link';
import { dayText, spanText, timeText } from './dates';

/** A photo in a list: its thumbnail, when it was taken, and how long after the spray when that is asked for. */
export function PhotoCard({ photo, timeZone, since, children }: { photo: { id: string; fileName: string; takenAt: Date; measureState: string }; timeZone: string; since?: Date; children?: React.ReactNode }) {
  return (
    <Link className="photo-card" href={`/photos/${photo.id}`}>
      <img src={`/api/photos/${photo.id}?width=320`} alt={`Photo of ${dayText(photo.takenAt, timeZone)}, ${photo.fileName}`} loading="lazy" width={320} height={240} />
      <span>
        {dayText(photo.takenAt, timeZone)}, {timeText(photo.takenAt, timeZone)}
      </span>
      {since && <span className="soft"> · {spanText(since, photo.takenAt)} after</span>}
      {children}
    </Link>
  );
}
