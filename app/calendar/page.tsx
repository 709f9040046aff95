import type { Metadata } from 'next';
import Link from 'next/link';
import { dateText, monthText, weekBegins, type Reader } from '@/lib/units/dates';
import { currentLawn } from '@/app/_ui/current-lawn';
import { readCalendarQuery } from '@/lib/forms/queries/find-query';
import { hasCalendarLink } from '@/lib/work/diary/calendar-link';
import { calendarMonths, type CalendarDay, type CalendarMonth } from '@/lib/work/diary/calendar-months';
import { OwnCalendar } from './own-calendar';
import { Rights } from '@/app/_ui/rights';
import { mayDo } from '@/lib/work/people/rights';

export const metadata: Metadata = { title: 'Calendar' };

const monthsShown = 4;
const weekdayNames = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'];

export default async function CalendarPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  const shown = lawn ? await calendarMonths(lawn, readCalendarQuery(await searchParams), monthsShown) : null;
  return (
    <>
      {lawn && <Rights lawnId={lawn.id} forms="keeps" quiet />}
      <div className="row row-end">
        <h1>Calendar</h1>
        <div className="row">
          {shown?.later && (
            <Link className="button" href={`/calendar?month=${shown.later}`}>
              Later months
            </Link>
          )}
          {shown?.earlier && (
            <Link className="button" href={`/calendar?month=${shown.earlier}`}>
              Earlier months
            </Link>
          )}
          <Link className="button" href="/find">
            Find
          </Link>
        </div>
      </div>
      {!lawn || !shown ? (
        <div className="teach">
          <h2>No days to show yet</h2>
          <p>
            Once there is a spray or a photo, its month appears here. <Link href="/">Back to the diary</Link>
          </p>
        </div>
      ) : (
        <>
          <p className="soft">
            <span className="day-sign day-sign-spray">S</span> sprays <span className="day-sign day-sign-plan">P</span>{' '}
            plans <span className="day-sign">◻</span> photos <span className="day-sign day-sign-mark">!</span> new marks{' '}
            <span className="day-sign day-sign-event">e</span> other events. A day opens the diary there.
          </p>
          <div className="months">
            {shown.months.map((month) => (
              <Month key={month.month} month={month} reader={lawn} />
            ))}
          </div>
        </>
      )}
      {lawn && (await mayDo('keeps', { lawn: lawn.id })) && (
        <OwnCalendar lawnId={lawn.id} hasAddress={await hasCalendarLink(lawn.id)} />
      )}
    </>
  );
}

function Month({ month, reader }: { month: CalendarMonth; reader: Reader }) {
  const begins = weekBegins(reader);
  const weekdays = [...weekdayNames.slice(begins), ...weekdayNames.slice(0, begins)];
  const cells: (CalendarDay | null)[] = [
    ...Array.from({ length: (month.startsOn - begins + 7) % 7 }, () => null),
    ...month.days,
  ];
  const weeks = Array.from({ length: Math.ceil(cells.length / 7) }, (_, week) =>
    Array.from({ length: 7 }, (_day, index) => cells[week * 7 + index] ?? null),
  );
  return (
    <table className="month sheet">
      <caption>{monthText(month.month)}</caption>
      <thead>
        <tr>
          {weekdays.map((name) => (
            <th key={name} scope="col">
              {name}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {weeks.map((week, index) => (
          <tr key={week.find((day) => day !== null)?.date ?? index}>
            {week.map((day, weekday) => (
              <td key={day?.date ?? weekdays[weekday]}>{day && <DayCell day={day} reader={reader} />}</td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const counted = (count: number, one: string, many: string) =>
  count === 0 ? [] : [`${count} ${count === 1 ? one : many}`];

function DayCell({ day, reader }: { day: CalendarDay; reader: Reader }) {
  const number = Number(day.date.slice(8));
  const said = [
    ...counted(day.sprays, 'spray', 'sprays'),
    ...counted(day.plans, 'planned spray', 'planned sprays'),
    ...counted(day.photos, 'photo', 'photos'),
    ...counted(day.marks, 'new mark', 'new marks'),
    ...counted(day.events, 'other event', 'other events'),
  ];
  if (said.length === 0) return <span className="day-empty">{number}</span>;
  const sign = (count: number, letter: string) => (count > 1 ? `${count}${letter}` : letter);
  return (
    <Link className="day-full" href={`/?before=${encodeURIComponent(day.endsAt.toISOString())}`}>
      <span className="visually-hidden">
        {dateText(day.date, reader)}: {said.join(', ')}
      </span>
      <span className="day-signs" aria-hidden>
        <strong>{number}</strong>
        {day.sprays > 0 && <span className="day-sign day-sign-spray">{sign(day.sprays, 'S')}</span>}
        {day.plans > 0 && <span className="day-sign day-sign-plan">{sign(day.plans, 'P')}</span>}
        {day.photos > 0 && <span className="day-sign">{sign(day.photos, '◻')}</span>}
        {day.marks > 0 && <span className="day-sign day-sign-mark">{sign(day.marks, '!')}</span>}
        {day.events > 0 && <span className="day-sign day-sign-event">{sign(day.events, 'e')}</span>}
      </span>
    </Link>
  );
}
