'use client';
import Link from 'next/link';
import { TableHold } from '@/app/_ui/table-hold';
import { useRouter } from 'next/navigation';
import { useState } from 'react';
import type { ColumnField } from '@/lib/forms/weather/weather-columns';
import type { OpenMapping } from '@/lib/forms/weather/weather-csv-mapping';
import type { WeatherCsvPreview } from '@/lib/forms/weather/weather-csv-preview';
import type { FileProgress } from '@/lib/work/weather/take-weather-file';
import { withFieldName } from '../field-names';
import { momentText, type Reader } from '@/lib/units/dates';
import { orderReading, type ReadingDone } from './order-reading';
import { Progress } from './file-progress';
import { Found } from './file-found';

interface FieldChoice {
  field: ColumnField;
  name: string;
  units: { value: string; label: string }[];
}

const orders: { value: NonNullable<OpenMapping['dateOrder']>; label: string }[] = [
  { value: 'ymd', label: 'year, month, day' },
  { value: 'mdy', label: 'month, day, year' },
  { value: 'dmy', label: 'day, month, year' },
  { value: 'unix-s', label: 'seconds since 1970' },
  { value: 'unix-ms', label: 'milliseconds since 1970' },
];

const delimiterNames: Record<string, string> = { ',': 'commas', ';': 'semicolons', '\t': 'tabs', '|': 'bars' };

export const count = (value: number) => value.toLocaleString('en-US');

/**
 * How a file is read: each column's meaning and unit, the clock, a look at the first rows; then a check of the whole,
 * then the import.
 */
export function ReadColumns({
  lawnId,
  reader,
  fileId,
  preview,
  fields,
}: {
  lawnId: string;
  reader: Reader;
  fileId: string;
  preview: WeatherCsvPreview;
  fields: FieldChoice[];
}) {
  const router = useRouter();
  const [mapping, setMapping] = useState(preview.mapping);
  const [zone, setZone] = useState(reader.timeZone);
  const [offset, setOffset] = useState(
    preview.mapping.clock.kind === 'fixed' ? String(preview.mapping.clock.offsetMin / 60) : '0',
  );
  const [height, setHeight] = useState(preview.mapping.windHeightM === null ? '' : String(preview.mapping.windHeightM));
  const [progress, setProgress] = useState<FileProgress | null>(null);
  const [busy, setBusy] = useState<'check' | 'import' | null>(null);
  const [found, setFound] = useState<ReadingDone | null>(null);
  const [taken, setTaken] = useState<ReadingDone | null>(null);
  const [message, setMessage] = useState('');

  const change = (part: Partial<OpenMapping>) => {
    setMapping((before) => ({ ...before, ...part }));
    setFound(null);
    setMessage('');
  };
  const columnOf = (index: number) => mapping.columns.find((column) => column.index === index);
  const setField = (index: number, field: string) => {
    const rest = mapping.columns.filter((column) => column.index !== index && column.field !== field);
    const choice = fields.find((entry) => entry.field === field);
    change({
      columns: choice
        ? [
            ...rest,
            { index, field: choice.field, unit: choice.units.length === 1 ? (choice.units[0]?.value ?? '') : '' },
          ]
        : rest,
    });
  };
  const setUnit = (index: number, unit: string) =>
    change({ columns: mapping.columns.map((column) => (column.index === index ? { ...column, unit } : column)) });
  const asOrdered = (): OpenMapping => ({
    ...mapping,
    windHeightM: height.trim() === '' ? null : Number(height.replace(',', '.')),
    clock:
      mapping.clock.kind === 'zone'
        ? { kind: 'zone', timeZone: zone.trim() }
        : { kind: 'fixed', offsetMin: Math.round(Number(offset.replace(',', '.').replace('−', '-')) * 60) },
  });

  const run = async (write: boolean) => {
    setBusy(write ? 'import' : 'check');
    setMessage('');
    setProgress(null);
    const result = await orderReading(fileId, { lawn: lawnId, write, mapping: asOrdered() }, setProgress);
    setBusy(null);
    setProgress(null);
    if (!result.ok) setMessage(result.message);
    else if (write) setTaken(result); // the page is not refreshed: the file has gone from it, and what was said would go with it
    else setFound(result);
  };
  const drop = async () => {
    await fetch(`/api/weather/files/${fileId}`, { method: 'DELETE' });
    router.push('/weather/import');
  };
  const moment = (utcMs: number) => momentText(utcMs, reader);

  if (taken) {
    return (
      <div className="sheet" role="status">
        <p className="notice notice-good">
          {count(taken.hours)} hours are in the diary, {moment(taken.firstUtcMs)} to {moment(taken.lastUtcMs)}.{' '}
          {taken.sprays
            ? `${taken.sprays} ${taken.sprays === 1 ? 'spray has' : 'sprays have'} weather from hours.`
            : ''}
        </p>
        <div className="row">
          <Link
            className="button button-main"
            href={`/weather?year=${new Date(taken.lastUtcMs).getUTCFullYear()}#season`}
          >
            See the season
          </Link>
          <Link className="button" href="/weather#files">
            Files, and undo
          </Link>
        </div>
      </div>
    );
  }

  return (
    <>
      <p className="soft">
        Read as text in {mapping.encoding}, columns parted by {delimiterNames[mapping.delimiter] ?? mapping.delimiter},
        decimal {mapping.decimal === '.' ? 'point' : 'comma'}, data from line {mapping.firstDataLine}.
      </p>
      {preview.asks.length > 0 && (
        <div className="notice notice-bad">
          <p>The file doesn’t say this, and it matters; please fill it in below:</p>
          <ul>
            {preview.asks.map((ask) => (
              <li key={ask}>{ask}</li>
            ))}
          </ul>
        </div>
      )}
      {preview.doubts.length > 0 && (
        <div className="notice">
          <p>Please look at this:</p>
          <ul>
            {preview.doubts.map((doubt) => (
              <li key={doubt}>{doubt}</li>
            ))}
          </ul>
        </div>
      )}
      <section className="sheet">
        <h2>Columns</h2>
        <div className="fields">
          <div className="field">
            <label htmlFor="date-column">Date, with or without the time</label>
            <select
              id="date-column"
              value={mapping.dateColumn}
              onChange={(event) => change({ dateColumn: Number(event.target.value) })}
            >
              {preview.columns.map((column) => (
                <option key={column.index} value={column.index}>
                  {column.heading || `column ${column.index + 1}`}
                </option>
              ))}
            </select>
          </div>
          <div className="field">
            <label htmlFor="time-column">Time of day</label>
            <select
              id="time-column"
              value={mapping.timeColumn ?? ''}
              onChange={(event) =>
                change({ timeColumn: event.target.value === '' ? null : Number(event.target.value) })
              }
            >
              <option value="">in the date’s column</option>
              {preview.columns.map((column) => (
                <option key={column.index} value={column.index}>
                  {column.heading || `column ${column.index + 1}`}
                </option>
              ))}
            </select>
          </div>
          <div className="field">
            <label htmlFor="date-order">Order of the date</label>
            <select
              id="date-order"
              value={mapping.dateOrder ?? ''}
              onChange={(event) =>
                change({ dateOrder: orders.find((entry) => entry.value === event.target.value)?.value ?? null })
              }
            >
              {mapping.dateOrder === null && <option value="">choose</option>}
              {orders.map((entry) => (
                <option key={entry.value} value={entry.value}>
                  {entry.label}
                </option>
              ))}
            </select>
          </div>
        </div>
        <TableHold label="Columns of the file">
          <table className="stacked">
            <thead>
              <tr>
                <th>Column</th>
                <th>Is</th>
                <th>Unit</th>
                <th>First figures</th>
              </tr>
            </thead>
            <tbody>
              {preview.columns
                .filter((column) => column.index !== mapping.dateColumn && column.index !== mapping.timeColumn)
                .map((column) => {
                  const chosen = columnOf(column.index);
                  const choice = fields.find((entry) => entry.field === chosen?.field);
                  const heading = column.heading || `column ${column.index + 1}`;
                  return (
                    <tr key={column.index}>
                      <th scope="row">{heading}</th>
                      <td>
                        <select
                          aria-label={`${heading} is`}
                          value={chosen?.field ?? ''}
                          onChange={(event) => setField(column.index, event.target.value)}
                        >
                          <option value="">left out</option>
                          {fields.map((entry) => (
                            <option key={entry.field} value={entry.field}>
                              {entry.name}
                            </option>
                          ))}
                        </select>
                      </td>
                      <td>
                        {choice && (
                          <select
                            aria-label={`${heading}: unit`}
                            value={chosen?.unit}
                            onChange={(event) => setUnit(column.index, event.target.value)}
                          >
                            {chosen?.unit === '' && <option value="">choose</option>}
                            {choice.units.map((unit) => (
                              <option key={unit.value} value={unit.value}>
                                {unit.label}
                              </option>
                            ))}
                          </select>
                        )}
                      </td>
                      <td className="soft">{column.samples.slice(0, 3).join(' · ')}</td>
                    </tr>
                  );
                })}
            </tbody>
          </table>
        </TableHold>
      </section>
      <section className="sheet">
        <h2>Clock and wind</h2>
        <div className="fields">
          <div className="field">
            <label htmlFor="clock">The logger’s clock</label>
            <select
              id="clock"
              value={mapping.clock.kind}
              onChange={(event) =>
                change({
                  clock:
                    event.target.value === 'zone' ? { kind: 'zone', timeZone: zone } : { kind: 'fixed', offsetMin: 0 },
                })
              }
            >
              <option value="zone">follows a time zone, with its summer time</option>
              <option value="fixed">keeps one offset from UTC all year</option>
            </select>
          </div>
          {mapping.clock.kind === 'zone' ? (
            <div className="field">
              <label htmlFor="zone">Time zone</label>
              <input
                id="zone"
                value={zone}
                onChange={(event) => {
                  setZone(event.target.value);
                  setFound(null);
                }}
              />
            </div>
          ) : (
            <div className="field">
              <label htmlFor="offset">Hours ahead of UTC</label>
              <input
                id="offset"
                inputMode="decimal"
                value={offset}
                onChange={(event) => {
                  setOffset(event.target.value);
                  setFound(null);
                }}
              />
              <span className="hint">West is negative: −5 for 5 h behind.</span>
            </div>
          )}
          <div className="field">
            <label htmlFor="marks">A row’s time is</label>
            <select
              id="marks"
              value={mapping.stampMarks}
              onChange={(event) => change({ stampMarks: event.target.value === 'end' ? 'end' : 'start' })}
            >
              <option value="start">when its interval begins</option>
              <option value="end">when its interval ends</option>
            </select>
          </div>
          <div className="field">
            <label htmlFor="height">Height of the anemometer, m</label>
            <input
              id="height"
              inputMode="decimal"
              value={height}
              onChange={(event) => {
                setHeight(event.target.value);
                setFound(null);
              }}
            />
            <span className="hint">Above the ground; only wind needs it.</span>
          </div>
        </div>
      </section>
      <details className="sheet">
        <summary>The first rows as they stand</summary>
        <TableHold label="Hours as they were read">
          <table>
            <thead>
              <tr>
                {preview.columns.map((column) => (
                  <th key={column.index}>{column.heading || `column ${column.index + 1}`}</th>
                ))}
              </tr>
            </thead>
            <tbody>
              {preview.rows.slice(0, 8).map((row) => (
                <tr key={row.join(' ')}>
                  {preview.columns.map((column) => (
                    <td key={column.index}>{row[column.index]}</td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      </details>
      <div aria-live="polite">
        {busy && <Progress progress={progress} hoursInAll={found?.hours ?? null} />}
        {message && <p className="notice notice-bad">{withFieldName(message)}</p>}
        {found && <Found found={found} moment={moment} zone={reader.timeZone} />}
      </div>
      <div className="row">
        {found ? (
          <button type="button" className="button-main" disabled={busy !== null} onClick={() => void run(true)}>
            Import these {count(found.hours)} hours
          </button>
        ) : (
          <button type="button" className="button-main" disabled={busy !== null} onClick={() => void run(false)}>
            Check the whole file
          </button>
        )}
        <button type="button" disabled={busy !== null} onClick={() => void drop()}>
          Remove this file
        </button>
      </div>
    </>
  );
}
