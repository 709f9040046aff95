import Link from 'next/link';
import { shortDayText, timeText, weekdayYearText, type Reader } from '@/lib/units/dates';
import { eventKindWords, eventText } from '@/app/_ui/event-words';
import { markKindWords } from '@/app/_ui/mark-words';
import { showTemperature, showTyped } from '@/lib/units/display';
import { signed } from '@/app/_ui/change-text';
import type { PlotChange } from '@/lib/work/changes';
import type { TimelineEntry } from '@/lib/work/timeline';

/** One day of the diary: its sprays, what else happened, then its photos. */
export function Day({ entries, reader }: { entries: TimelineEntry[]; reader: Reader }) {
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
              {spray.items.map((item) => `${item.product.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, reader.unitSystem).text}`).join(' + ')}
              {spray.airTempC !== null && <span className="soft"> · {showTemperature(spray.airTempC, reader.unitSystem).text}</span>}
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
        {photos.length > 0 && (
          <div className="day-photos">
            {photos.map(({ photo, readings, changes, marks, pending }) => (
              <Link key={photo.id} className="photo-card" href={`/photos/${photo.id}`}>
                <img src={`/api/photos/${photo.id}?width=320`} alt={`Photo taken at ${timeText(photo.takenAt, reader)}, ${photo.fileName}`} loading="lazy" width={320} height={240} />
                <span>{timeText(photo.takenAt, reader)}</span>
                {pending && <span className="soft">being worked out</span>}
                {readings.length > 0 && <Readings readings={readings} changes={changes} />}
                {marks.map((mark) => (
                  <span key={mark.id} className="chip chip-mark">
                    {markKindWords[mark.kind]} on {mark.plotName}
                  </span>
                ))}
              </Link>
            ))}
          </div>
        )}
      </div>
    </li>
  );
}

/** What each plot's colour did: its change since before the spray where there is one, else its difference to the check in this photo; the bare index where there is no check. */
function Readings({ readings, changes }: { readings: { plotName: string; isCheck: boolean; dgci: number | null }[]; changes: PlotChange[] }) {
  const check = readings.find((reading) => reading.isCheck)?.dgci ?? null;
  const shown = check === null ? readings : readings.filter((reading) => !reading.isCheck);
  const words = (plotName: string, dgci: number | null): string => {
    const change = changes.find((one) => one.plotName === plotName);
    if (change?.sinceSpray && !change.isBaseline) return change.headline ? `changed ${signed(change.headline.value)}${change.marksLeftOut > 0 ? ', marks left out' : ''}` : 'change not known';
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
