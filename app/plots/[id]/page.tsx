import type { Metadata } from 'next';
import Link from 'next/link';
import { saysCheck } from '@/app/_ui/change-text';
import { notFound } from 'next/navigation';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { dayText, readerOf } from '@/lib/units/dates';
import { eventKindWords, eventText, renovationWords } from '@/app/_ui/event-words';
import { markKindWords, markStateWords } from '@/app/_ui/mark-words';
import { PhotoCard } from '@/app/_ui/photo-card';
import { findLawn } from '@/lib/diary/lawns';
import { listPhotos } from '@/lib/diary/photos';
import { findPlot } from '@/lib/diary/plots';
import { listEvents } from '@/lib/diary/lawn-events';
import { listSprays } from '@/lib/diary/sprays';
import { sharingGround } from '@/lib/work/photos/ground-of';
import { showArea, showTyped } from '@/lib/units/display';
import { newestMarks } from '@/lib/work/photos/marks';
import { sizeFromAbove } from '@/lib/work/photos/show-plot';
import { upToDatePhotos } from '@/lib/work/photos/stand-of';
import { askPage, Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'A plot' };

export default async function PlotPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('looks', { plot: (await params).id });
  const plot = await findPlot((await params).id);
  const lawn = plot ? await findLawn(plot.lawnId) : null;
  if (!plot || !lawn) notFound();
  const { known, unknown } = await sharingGround(lawn.id, [plot.id]);
  const [marks, sprays, photos, events, renovations] = await Promise.all([
    newestMarks(lawn.id, [plot.id], 60),
    listSprays(lawn.id, { plotIds: known, limit: 20 }),
    listPhotos(lawn.id, { plotId: plot.id, limit: 24, oldestFirst: false }),
    listEvents(lawn.id, { plotIds: known, limit: 20 }),
    listEvents(lawn.id, { plotIds: known, kinds: ['renovation'], limit: 10 }),
  ]);
  const reader = readerOf(lawn);
  const above = sizeFromAbove(plot);
  const upToDate = await upToDatePhotos(
    lawn.id,
    photos.map((photo) => photo.id),
  );
  return (
    <>
      <Rights lawnId={lawn.id} quiet />
      <div className="row row-end">
        <h1>
          {plot.name} {plot.isCheck && !saysCheck(plot.name) && <span className="chip chip-on">check</span>}
        </h1>
        <span className="soft">{showArea(plot.areaM2, lawn.unitSystem).text}</span>
      </div>
      <BeingWorkedOut lawnId={lawn.id} photos={photos.filter((photo) => !upToDate.has(photo.id)).length} />
      {renovations.length > 0 && (
        <p>
          {renovations
            .map((event) =>
              event.kind === 'renovation' ? `${renovationWords[event.done]} ${dayText(event.at, reader)}` : '',
            )
            .join(' · ')}
        </p>
      )}
      <section className="sheet">
        <h2>From straight above, by date</h2>
        {photos.length === 0 ? (
          <p className="soft">No photo shows this plot yet.</p>
        ) : (
          <ul className="film">
            {[...photos].reverse().map((photo) => (
              <li key={photo.id}>
                <Link className="photo-card" href={`/photos/${photo.id}`}>
                  <img
                    src={`/api/photos/${photo.id}/above?plot=${plot.id}`}
                    alt={`${plot.name} from above on ${dayText(photo.takenAt, reader)}`}
                    loading="lazy"
                    {...above}
                    style={{ aspectRatio: `${above.width} / ${above.height}` }}
                  />
                  <span>{dayText(photo.takenAt, reader)}</span>
                </Link>
              </li>
            ))}
          </ul>
        )}
      </section>
      <section className="sheet">
        <h2>Marks</h2>
        {marks.length === 0 ? (
          <p className="soft">None found.</p>
        ) : (
          <ul>
            {marks.toReversed().map((mark) => (
              <li key={mark.id}>
                <Link href={`/photos/${mark.photoId}`}>{dayText(mark.takenAt, reader)}</Link>:{' '}
                {markKindWords[mark.kind]}, {(mark.areaShare * 100).toFixed(1)} % of the plot,{' '}
                {markStateWords[mark.state]}
              </li>
            ))}
          </ul>
        )}
      </section>
      <section className="sheet">
        <h2>Sprayed with</h2>
        {sprays.length === 0 ? (
          <p className="soft">Nothing yet.</p>
        ) : (
          <ul>
            {sprays.map((spray) => (
              <li key={spray.id}>
                <Link href={`/sprays/${spray.id}`}>{dayText(spray.startedAt, reader)}</Link>:{' '}
                {spray.items
                  .map(
                    (item) =>
                      `${item.product.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, lawn.unitSystem).text}`,
                  )
                  .join(' + ')}
                {spray.plots.every((covered) => covered.plotId !== plot.id) && (
                  <span className="soft">
                    {' '}
                    · on {spray.plots.map((covered) => covered.plot.name).join(', ')}, which shares this ground
                  </span>
                )}
              </li>
            ))}
          </ul>
        )}
        {unknown.length > 0 && (
          <p className="soft">
            Of {unknown.length} other {unknown.length === 1 ? 'plot' : 'plots'} nobody said whether{' '}
            {unknown.length === 1 ? 'it shares' : 'they share'} this ground; what went onto{' '}
            {unknown.length === 1 ? 'it' : 'them'} isn’t listed. <Link href="/lawn#plots">Say where the plots lie</Link>
          </p>
        )}
      </section>
      <section className="sheet">
        <h2>What else happened here</h2>
        {events.length === 0 ? (
          <p className="soft">Nothing written down.</p>
        ) : (
          <ul>
            {events.map((event) => (
              <li key={event.id}>
                <Link href={`/events/${event.id}`}>{dayText(event.at, reader)}</Link>:{' '}
                {eventKindWords[event.kind].toLowerCase()} {eventText(event, lawn.unitSystem)}
              </li>
            ))}
          </ul>
        )}
        <Link className="button" href={`/events/new?kind=renovation&plot=${plot.id}`}>
          Add a renovation or seeding
        </Link>
      </section>
      <section>
        <h2>Photos</h2>
        <ul className="photo-grid">
          {photos.map((photo) => (
            <li key={photo.id}>
              <PhotoCard photo={photo} reader={reader} />
            </li>
          ))}
        </ul>
      </section>
    </>
  );
}
