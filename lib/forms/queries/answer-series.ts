import type { Refused } from '@/lib/forms/weather/weather-csv-mapping';
import { readStamp } from '@/lib/forms/weather/weather-stamps';

/** What a service's answer holds by time, whatever it is called there and however it is packed. */
export interface AnswerSeries {
  readonly time: readonly (string | number)[];
  /** Numbers by the name they have in the answer, each as long as `time`; what isn't a number is null. */
  readonly series: Readonly<Record<string, readonly (number | null)[]>>;
  /** The unit the answer itself states for a name, where it does. */
  readonly units: Readonly<Record<string, string>>;
}

type Json = Readonly<Record<string, unknown>>;
const isObject = (value: unknown): value is Json =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** As deep as services nest what they say, and as many branches as are looked into. */
const DEEPEST = 4;
const MOST_ROWS = 200_000;
const TIME_NAME = /time|date|stamp|valid|epoch|hour|^dt$|^ts$/i;

/**
 * An instant: a text that reads as one, or a number of seconds or milliseconds since 1970 that lies in 1990 to 2100.
 */
function isTime(value: unknown): boolean {
  if (typeof value === 'string') return readStamp(value, 'ymd').kind !== 'bad';
  return typeof value === 'number' && ((value > 6.3e8 && value < 4.2e9) || (value > 6.3e11 && value < 4.2e12));
}

const numberOrNull = (value: unknown): number | null =>
  typeof value === 'number' && Number.isFinite(value) ? value : null;
const allTimes = (list: readonly unknown[]): list is readonly (string | number)[] =>
  list.length > 0 && list.slice(0, 5).every(isTime);

/** The name under which an object keeps its times: one that sounds like time before any other. */
function timeName(names: readonly string[], of: (name: string) => readonly unknown[]): string | undefined {
  const fit = names.filter((name) => allTimes(of(name)));
  return fit.find((name) => TIME_NAME.test(name));
}

/** Arrays side by side in one object: `{ time: […], temperature: […] }`. */
function sideBySide(at: Json, parent: Json | null): AnswerSeries | null {
  const lists = Object.entries(at).filter(
    (entry): entry is [string, unknown[]] =>
      Array.isArray(entry[1]) && entry[1].length > 0 && entry[1].length <= MOST_ROWS,
  );
  const named = timeName(
    lists.map(([name]) => name),
    (name) => at[name] as unknown[],
  );
  if (named === undefined) return null;
  const time = at[named] as (string | number)[];
  const series = Object.fromEntries(
    lists
      .filter(
        ([name, list]) =>
          name !== named && list.length === time.length && list.every((one) => one === null || typeof one === 'number'),
      )
      .map(([name, list]) => [name, list.map(numberOrNull)]),
  );
  if (Object.keys(series).length === 0) return null;
  return { time, series, units: statedUnits(Object.keys(series), [at, ...(parent ? [parent] : [])]) };
}

/** Rows: `[{ time: …, temperature: …, wind: { speed: … } }, …]`; a name inside a name is joined by a point. */
function inRows(rows: readonly unknown[]): AnswerSeries | null {
  if (rows.length < 2 || rows.length > MOST_ROWS || !rows.every(isObject)) return null;
  const flat = rows.map(flattened);
  const names = [...new Set(flat.slice(0, 50).flatMap((row) => Object.keys(row)))];
  const named = timeName(names, (name) => flat.map((row) => row[name]));
  if (named === undefined) return null;
  const series = Object.fromEntries(
    names
      .filter((name) => name !== named && flat.some((row) => typeof row[name] === 'number'))
      .map((name) => [name, flat.map((row) => numberOrNull(row[name]))]),
  );
  return Object.keys(series).length === 0
    ? null
    : { time: flat.map((row) => row[named] as string | number), series, units: {} };
}

function flattened(row: Json): Json {
  return Object.fromEntries(
    Object.entries(row).flatMap(([name, value]) =>
      isObject(value) ? Object.entries(value).map(([inner, one]) => [`${name}.${inner}`, one]) : [[name, value]],
    ),
  );
}

/** Units stated beside the series: an object whose names are theirs and whose values are words. */
function statedUnits(names: readonly string[], around: readonly Json[]): Record<string, string> {
  const found: Record<string, string> = {};
  for (const place of around.flatMap((one) => Object.values(one)).filter(isObject)) {
    for (const name of names) if (typeof place[name] === 'string') found[name] ??= place[name];
  }
  return found;
}

/**
 * Finds the hours in a service's answer: arrays side by side or rows, at the top or up to four names deep; of several
 * the one with the most names.
 * @returns the series by name; or one sentence: what was expected, what came
 */
export function readAnswerSeries(json: unknown): AnswerSeries | Refused {
  let best: AnswerSeries | null = null;
  const look = (value: unknown, parent: Json | null, depth: number): void => {
    const found = Array.isArray(value) ? inRows(value) : isObject(value) ? sideBySide(value, parent) : null;
    if (found && (best === null || Object.keys(found.series).length > Object.keys(best.series).length)) best = found;
    if (depth >= DEEPEST || found) return;
    if (isObject(value))
      for (const inner of Object.values(value)) if (typeof inner === 'object') look(inner, value, depth + 1);
  };
  look(json, null, 0);
  return (
    best ?? {
      ok: false,
      sentence: `Weather service: expected hours, as lists side by side or as rows, each with its time; got ${isObject(json) ? `an object with ${Object.keys(json).slice(0, 6).join(', ') || 'nothing in it'}` : 'something else'}.`,
    }
  );
}
