import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { dateText, momentText } from '@/lib/units/dates';
import { eventKindWords, eventText } from '@/app/_ui/event-words';
import { Choose, Field } from '@/app/_ui/field';
import { markKindWords } from '@/app/_ui/mark-words';
import { PhotoCard } from '@/app/_ui/photo-card';
import { readFindQuery } from '@/lib/forms/queries/find-query';
import { findInDiary } from '@/lib/work/diary/find';

export const metadata: Metadata = { title: 'Find' };

const kinds = [
  { value: 'all', label: 'Everything' },
  { value: 'sprays', label: 'Sprays' },
  { value: 'photos', label: 'Photos' },
  { value: 'marks', label: 'Marks' },
  { value: 'trials', label: 'Trials' },
  { value: 'events', label: 'Other events' },
];
const markKindChoices = [
  { value: '', label: 'Any kind' },
  ...Object.entries(markKindWords).map(([value, label]) => ({ value, label })),
];
const stateChoices = [
  { value: '', label: 'Any state' },
  { value: 'open', label: 'Not judged yet' },
  { value: 'confirmed', label: 'Confirmed' },
  { value: 'dismissed', label: 'Dismissed' },
];
const stateWords: Record<string, string> = { open: 'not judged yet', confirmed: 'confirmed', dismissed: 'dismissed' };

export default async function FindPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  const query = readFindQuery(await searchParams);
  const asked =
    query.q !== '' ||
    query.in !== 'all' ||
    query.from !== null ||
    query.to !== null ||
    query.kind !== null ||
    query.state !== null;
  const found = lawn && asked ? await findInDiary(lawn, query) : null;
  const count = found
    ? found.sprays.length + found.photos.length + found.marks.length + found.trials.length + found.events.length
    : 0;
  return (
    <>
      <div className="row row-end">
        <h1>Find</h1>
        <Link className="button" href="/calendar">
          Calendar
        </Link>
      </div>
      <form method="get" className="sheet stack" role="search">
        <div className="fields">
          <Field
            name="q"
            label="Words"
            type="search"
            defaultValue={query.q}
            hint="A product, a word of a note, a file name, a viewpoint, a plot, a trial"
          />
          <Choose name="in" label="Look in" choices={kinds} defaultValue={query.in} />
          <Field name="from" label="From" type="date" defaultValue={query.from} />
          <Field name="to" label="To, that day too" type="date" defaultValue={query.to} />
          {(query.in === 'all' || query.in === 'marks') && (
            <>
              <Choose name="kind" label="Marks of" choices={markKindChoices} defaultValue={query.kind ?? ''} />
              <Choose name="state" label="Marks that are" choices={stateChoices} defaultValue={query.state ?? ''} />
            </>
          )}
        </div>
        <div className="row">
          <button type="submit">Find</button>
          {asked && (
            <Link className="button" href="/find">
              Start over
            </Link>
          )}
        </div>
      </form>
      {!found && (
        <div className="teach">
          <h2>Everything in this diary</h2>
          <p>Type a word, or pick what to look in and a span of days. Filters narrow each other down.</p>
        </div>
      )}
      {found && count === 0 && <p role="status">Nothing in the diary fits. Try fewer words or a wider span of days.</p>}
      {found && count > 0 && (
        <p className="soft" role="status">
          {count} found
          {found.more ? '; only the newest 30 of each kind are listed: narrow it down to see the rest' : ''}.
        </p>
      )}
      {found && lawn && (
        <>
          {found.sprays.length > 0 && (
            <section className="sheet">
              <h2>Sprays</h2>
              <ul>
                {found.sprays.map((spray) => (
                  <li key={spray.id}>
                    <Link href={spray.state === 'planned' ? `/plan/${spray.id}` : `/sprays/${spray.id}`}>
                      {momentText(spray.startedAt, lawn)}
                    </Link>
                    {spray.state === 'planned' && ' (planned)'}: {spray.products.join(' + ')} on{' '}
                    {spray.plots.join(', ')}
                    {spray.note && <span className="soft"> · {spray.note}</span>}
                  </li>
                ))}
              </ul>
            </section>
          )}
          {found.events.length > 0 && (
            <section className="sheet">
              <h2>Other events</h2>
              <ul>
                {found.events.map((event) => (
                  <li key={event.id}>
                    <Link href={`/events/${event.id}`}>
                      {eventKindWords[event.kind]}, {momentText(event.at, lawn)}
                    </Link>
                    {eventText(event, lawn.unitSystem) && `: ${eventText(event, lawn.unitSystem)}`}
                    {event.note && <span className="soft"> · {event.note}</span>}
                  </li>
                ))}
              </ul>
            </section>
          )}
          {found.marks.length > 0 && (
            <section className="sheet">
              <h2>Marks</h2>
              <ul>
                {found.marks.map((mark) => (
                  <li key={mark.id}>
                    <Link href={`/photos/${mark.photoId}`}>
                      {markKindWords[mark.kind as keyof typeof markKindWords] ?? mark.kind} on {mark.plotName},{' '}
                      {momentText(mark.takenAt, lawn)}
                    </Link>
                    <span className="soft">
                      {' '}
                      · {(mark.areaShare * 100).toFixed(1)} % of the plot · {stateWords[mark.state] ?? mark.state}
                    </span>
                  </li>
                ))}
              </ul>
            </section>
          )}
          {found.trials.length > 0 && (
            <section className="sheet">
              <h2>Trials</h2>
              <ul>
                {found.trials.map((trial) => (
                  <li key={trial.id}>
                    <Link href={`/trials/${trial.id}`}>{trial.name}</Link>, from {dateText(trial.startsOn, lawn)}{' '}
                    <span className="soft">{trial.question}</span>
                  </li>
                ))}
              </ul>
            </section>
          )}
          {found.photos.length > 0 && (
            <section className="sheet">
              <h2>Photos</h2>
              <ul className="photo-grid">
                {found.photos.map((photo) => (
                  <li key={photo.id}>
                    <PhotoCard photo={photo} reader={lawn}>
                      <span className="soft">
                        {photo.viewpointName ?? 'no viewpoint'} · {photo.fileName}
                        {photo.note && ` · ${photo.note}`}
                      </span>
                    </PhotoCard>
                  </li>
                ))}
              </ul>
            </section>
          )}
        </>
      )}
    </>
  );
}
