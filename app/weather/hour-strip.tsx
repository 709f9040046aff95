'use client';
import { useState } from 'react';
import { Reasons, VerdictWord } from '@/app/_ui/reasons';
import type { Reason, Suitability } from '@/lib/weather/window-limits';

export interface StripHour {
  startUtcMs: number;
  /** 19 */
  hour: string;
  /** Thu 20 Nov, 19:00 */
  moment: string;
  verdict: Suitability;
  points: number;
  /** 24 min */
  drying: string;
  /** Temperature, humidity, wind in the reader's units. */
  air: string;
  reasons: Pick<Reason, 'topic' | 'verdict' | 'sentence'>[];
}

export interface StripDay {
  date: string;
  title: string;
  sun: string;
  hours: StripHour[];
}

/** The hours ahead as buttons, day by day; the one picked shows its reasons. */
export function HourStrip({
  days,
  limits,
  picked,
}: {
  days: StripDay[];
  limits: Record<string, Pick<Reason, 'limit' | 'source'>>;
  picked: number | null;
}) {
  const [chosen, setChosen] = useState(picked ?? days[0]?.hours[0]?.startUtcMs ?? 0);
  const hour = days.flatMap((day) => day.hours).find((entry) => entry.startUtcMs === chosen);
  return (
    <>
      {days.map((day) => (
        <div key={day.date}>
          <h3>
            {day.title} <span className="soft">{day.sun}</span>
          </h3>
          <ul className="hour-row">
            {day.hours.map((entry) => (
              <li key={entry.startUtcMs}>
                <button
                  type="button"
                  className={`hour-cell is-${entry.verdict}`}
                  aria-pressed={entry.startUtcMs === chosen}
                  onClick={() => setChosen(entry.startUtcMs)}
                >
                  <strong>{entry.hour}</strong>
                  <span className={`verdict verdict-${entry.verdict}`}>
                    <span className="visually-hidden">{entry.verdict}, drying</span>
                  </span>
                  <span>{entry.drying}</span>
                </button>
              </li>
            ))}
          </ul>
        </div>
      ))}
      {hour && (
        <div aria-live="polite">
          <h3>
            {hour.moment} <VerdictWord verdict={hour.verdict} />{' '}
            <span className="soft">{hour.points.toFixed(0)} of 100 points</span>
          </h3>
          {hour.air && <p>{hour.air}</p>}
          <Reasons
            reasons={hour.reasons.map((reason) => ({
              ...reason,
              limit: limits[reason.topic]?.limit ?? '',
              source: limits[reason.topic]?.source ?? '',
            }))}
          />
        </div>
      )}
    </>
  );
}
