'use client';
import type { FileFound } from '@/lib/work/weather/take-weather-file';
import { withFieldName } from '../field-names';
import { count } from './read-columns';

/** What reading the whole file found, before anything is kept. */
export function Found({ found, moment, zone }: { found: FileFound; moment: (utcMs: number) => string; zone: string }) {
  return (
    <section className="sheet">
      <h2>What the file holds</h2>
      <dl className="facts">
        <div>
          <dt>Hours</dt>
          <dd>{count(found.hours)}</dd>
        </div>
        <div>
          <dt>Rows read</dt>
          <dd>{count(found.rowsRead)}</dd>
        </div>
        <div>
          <dt>First hour, {zone}</dt>
          <dd>{moment(found.firstUtcMs)}</dd>
        </div>
        <div>
          <dt>Last hour</dt>
          <dd>{moment(found.lastUtcMs)}</dd>
        </div>
        <div>
          <dt>Hours missing between</dt>
          <dd>{count(found.hoursMissing)}</dd>
        </div>
        <div>
          <dt>Duplicate rows, merged</dt>
          <dd>{count(found.duplicateRows)}</dd>
        </div>
        {found.repeatedHourRows > 0 && (
          <div>
            <dt>Rows in the hour the clocks repeat</dt>
            <dd>{count(found.repeatedHourRows)}</dd>
          </div>
        )}
        <div>
          <dt>Hours the diary has in this span</dt>
          <dd>{count(found.hoursKnown)}</dd>
        </div>
      </dl>
      {found.hoursKnown > 0 && (
        <p className="soft">
          Where both have an hour, this file’s figures will stand in front; undoing the import brings the others back.
        </p>
      )}
      {found.badCount > 0 && (
        <>
          <p className="notice">
            {count(found.badCount)} bad {found.badCount === 1 ? 'row or cell is' : 'rows or cells are'} left out
            {found.badCount > found.bad.length ? `; the first ${found.bad.length}:` : ':'}
          </p>
          <ul>
            {found.bad.map((row) => (
              <li key={`${row.line} ${row.reason}`}>
                Line {row.line}: {withFieldName(row.reason)}
              </li>
            ))}
          </ul>
        </>
      )}
      <p>Nothing is in the diary yet.</p>
    </section>
  );
}
