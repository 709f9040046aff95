import Link from 'next/link';
import { readerOf, shortDayText, timeText, weekdayYearText, type Reader } from '@/lib/units/dates';
import { eventKindWords, eventText } from '@/app/_ui/event-words';
import { markKindWords } from '@/app/_ui/mark-words';
import { showTemperature, showTyped } from '@/lib/units/display';
import { signed } from '@/app/_ui/change-text';
import type { PlotChange } from '@/lib/work/photos/changes';
import type { TimelineEntry } from '@/lib/work/diary/timeline';
import { PlotBands } from './plot-bands';

/** One day of the diary: its sprays, what else happened, then its photos. */
export function Day({
  entries,
  reader,
  scale,
}: {
  entries: TimelineEntry[];
  reader: Reader;
  /** What a full bar of change stands for. */ scale: number;
}) {
  const at = entries[0]?.at ?? new Date(0);
  const sprays = entries.flatMap((entry) => (entry.kind === 'spray' ? [entry.spray] : []));
  const photos = entries.flatMap((entry) => (entry.kind === 'photo' ? [entry] : []));
  const events = entries.flatMap((entry) => (entry.kind === 'event' ? [entry.event] : []));
  return (
    <li className="day">
      <div className="day-date">
        {shortDayText(at, reader)}
        <span>{weekdayYearText(at, reader)}</span>
      </div>
      <div className="day-items">
        {sprays.map((spray) => (
          <div key={spray.id}>
            <span className="chip chip-spray">{spray.state === 'planned' ? 'Planned spray' : 'Spray'}</span>{' '}
            <Link href={spray.state === 'planned' ? `/plan/${spray.id}` : `/sprays/${spray.id}`}>
              {timeText(spray.startedAt, reader)}, {spray.plots.map((covered) => covered.plot.name).join(', ')}
            </Link>
            <div>
              {spray.items
                .map(
                  (item) =>
                    `${item.product.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, reader.unitSystem).text}`,
                )
                .join(' + ')}
              {spray.airTempC !== null && (
                <span className="soft"> · {showTemperature(spray.airTempC, reader.unitSystem).text}</span>
              )}
            </div>
            {spray.note && <div className="soft">{spray.note}</div>}
          </div>
        ))}
        {events.map((event) => {
          const text = eventText(event, reader.unitSystem);
          return (
            <div key={event.id}>
              <span className="chip">{eventKindWords[event.kind]}</span>{' '}
              <Link href={`/events/${event.id}`}>
                {timeText(event.at, reader)}
                {event.wholeLawn ? '' : `, ${event.typed.plotNames.join(', ')}`}
              </Link>
              {text && ` ${text}`}
              {event.note && <div className="soft">{event.note}</div>}
            </div>
          );
        })}
        {photos.map((entry) => (
          <PhotoRow key={entry.photo.id} entry={entry} scale={scale} reader={reader} />
        ))}
      </div>
    </li>
  );
}

type PhotoEntry = Extract<TimelineEntry, { kind: 'photo' }>;

/** A photo's plots, cut out; one without outlines, or with a check alone, shows itself. */
function PhotoRow({
  entry: { photo, readings, changes, marks, views, pending },
  scale,
  reader,
}: {
  entry: PhotoEntry;
  scale: number;
  reader: Reader;
}) {
  const time = timeText(photo.takenAt, reader);
  return (
    <div className={views.length > 0 ? 'photo-row' : 'day-photos'}>
      <Link className="photo-card" href={`/photos/${photo.id}`}>
        <img
          src={`/api/photos/${photo.id}?width=320`}
          alt={`Photo taken at ${time}, ${photo.fileName}`}
          loading="lazy"
          width={320}
          height={240}
        />
        <span>{time}</span>
        {pending && <span className="soft">being worked out</span>}
        {views.length === 0 && readings.length > 0 && <Readings readings={readings} changes={changes} />}
        {views.length === 0 &&
          marks.map((mark) => (
            <span key={mark.id} className="chip chip-mark">
              {markKindWords[mark.kind]} on {mark.plotName}
            </span>
          ))}
      </Link>
      {views.length > 0 && <PlotBands views={views.slice(0, MOST_VIEWS)} scale={scale} reader={readerOf(reader)} />}
      {views.length > MOST_VIEWS && (
        <Link className="soft" href={`/photos/${photo.id}`}>
          {views.length - MOST_VIEWS} more plots in this photo
        </Link>
      )}
    </div>
  );
}

/** More plots than this are left to the photo's own page. */
const MOST_VIEWS = 8;

/**
 * What each plot's colour did: its change since before the spray where there is one, else its difference to the check
 * in this photo; the bare index where there is no check.
 */
function Readings({
  readings,
  changes,
}: {
  readings: { plotName: string; isCheck: boolean; dgci: number | null }[];
  changes: PlotChange[];
}) {
  const check = readings.find((reading) => reading.isCheck)?.dgci ?? null;
  const shown = check === null ? readings : readings.filter((reading) => !reading.isCheck);
  const words = (plotName: string, dgci: number | null): string => {
    const change = changes.find((one) => one.plotName === plotName);
    if (change?.sinceSpray && !change.isBaseline)
      return change.headline
        ? `changed ${signed(change.headline.value)}${change.marksLeftOut > 0 ? ', marks left out' : ''}`
        : 'change not known';
    if (dgci === null) return 'no turf';
    return check === null ? dgci.toFixed(3) : `${signed(dgci - check)} beside the check`;
  };
  return (
    <>
      {shown.map(({ plotName, dgci }) => (
        <span key={plotName} className="soft number">
          {plotName}: {words(plotName, dgci)}
        </span>
      ))}
    </>
  );
}
