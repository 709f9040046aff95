import { sniffEncoding } from '@/lib/forms/weather/text-encoding';
import {
  type ColumnField,
  type ColumnGuess,
  COLUMN_KINDS,
  guessColumn,
  heightInHeading,
  isRowEnergy,
} from '@/lib/forms/weather/weather-columns';
import { DELIMITERS, MISSING_WORDS, type OpenMapping, type Refused } from '@/lib/forms/weather/weather-csv-mapping';
import { usualStepMs } from '@/lib/forms/weather/weather-gather';
import { guessDateOrder, readStamp } from '@/lib/forms/weather/weather-stamps';

export interface WeatherCsvPreview {
  readonly ok: true;
  readonly columns: readonly {
    readonly index: number;
    readonly heading: string;
    readonly samples: readonly string[];
    readonly guess: ColumnGuess | null;
  }[];
  /** The first rows of data as they stand. */
  readonly rows: readonly (readonly string[])[];
  /** What is guessed; what the file can't tell and matters is left open (see OpenMapping), the zone is the caller's. */
  readonly mapping: OpenMapping;
  /** What is left open, in words: the file can't be read before it is answered. */
  readonly asks: readonly string[];
  /** What was decided for a reason and should be looked at, in words. */
  readonly doubts: readonly string[];
}

/** The parts of a line at a delimiter outside quotes: enough for sniffing. */
function roughSplit(line: string, delimiter: string): string[] {
  const parts = [''];
  let quoted = false;
  for (const sign of line) {
    if (sign === '"') quoted = !quoted;
    else if (sign === delimiter && !quoted) parts.push('');
    else parts[parts.length - 1] += sign;
  }
  return parts.map((part) => part.trim());
}

const DATELIKE = /^\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|^\d{8}([T ]?\d{4,6})?$|^1\d{9}(\d{3})?(\.\d+)?$/;
const DATA_CELL = /^[-+]?[\d.,]+(e[-+]?\d+)?$/i;

/** The delimiter that cuts most lines into one and the same number of parts, above one. */
function sniffDelimiter(lines: readonly string[]): (typeof DELIMITERS)[number] | null {
  let best: { delimiter: (typeof DELIMITERS)[number]; score: number } | null = null;
  for (const delimiter of DELIMITERS) {
    const counts = new Map<number, number>();
    for (const line of lines) {
      const parts = roughSplit(line, delimiter).length;
      if (parts > 1) counts.set(parts, (counts.get(parts) ?? 0) + 1);
    }
    // A decimal comma cuts numbers too, so of two that agree the one that leaves dates and numbers whole is right.
    const [parts = 0, agreeing = 0] = [...counts].sort((a, b) => b[1] - a[1])[0] ?? [];
    const whole = lines.filter((line) =>
      roughSplit(line, delimiter)
        .slice(1)
        .every((part) => part === '' || DATA_CELL.test(part) || part.length > 2),
    ).length;
    const score = parts > 1 ? agreeing + whole / 2 + (delimiter === ',' ? 0 : 0.25) : 0;
    if (score > (best?.score ?? 0)) best = { delimiter, score };
  }
  return best?.delimiter ?? null;
}

/**
 * What a file seems to hold, from its first bytes (256 kB do): encoding, delimiter, decimal sign, headings, columns,
 * units, date order.
 * @param head the file's beginning; a last line cut in two is left out when `cut`
 * @param place the lawn's zone, and the wind height where it is known beforehand
 * @returns a guess to be confirmed, or one sentence why there is none
 */
export function previewWeatherCsv(
  head: Uint8Array,
  cut: boolean,
  place: { readonly timeZone: string; readonly windHeightM: number | null },
): WeatherCsvPreview | Refused {
  if (head.length === 0)
    return { ok: false, sentence: 'Weather file: expected a table of readings, got an empty file.' };
  const encoding = sniffEncoding(head);
  const text = new TextDecoder(encoding).decode(head);
  if (text.includes('\u0000'))
    return {
      ok: false,
      sentence:
        'Weather file: expected text (CSV), got a binary file; export it from the logger or spreadsheet as CSV.',
    };
  const lines = text.split(/\r\n|\n|\r/);
  if (cut) lines.pop();
  const delimiter = sniffDelimiter(lines.slice(0, 400).filter((line) => line.trim() !== ''));
  if (delimiter === null)
    return {
      ok: false,
      sentence: 'Weather file: expected columns parted by comma, semicolon, tab or bar, got lines of one column.',
    };
  const table = lines.map((line) => roughSplit(line, delimiter));
  const first = table.findIndex(
    (cells) =>
      cells.slice(0, 6).some((cell) => DATELIKE.test(cell)) &&
      cells.filter((cell) => DATA_CELL.test(cell) || MISSING_WORDS.has(cell.toLowerCase())).length >= 1,
  );
  if (first === -1)
    return { ok: false, sentence: 'Weather file: expected rows with a date and numbers, got none in its first lines.' };
  const data = table.slice(first).filter((cells) => cells.length > 1);
  const width = usualWidth(data.slice(0, 400));
  const typical = data.find((cells) => cells.length === width) ?? [];
  const unlike = headingUnlikeRows(table[first - 1] ?? [], data.slice(0, 400), delimiter);
  if (unlike !== null) return { ok: false, sentence: unlike };
  const above = table
    .slice(Math.max(0, first - 2), first)
    .filter((cells) => cells.length >= width - 1 && cells.length > 1);
  const headings = Array.from({ length: width }, (_, i) =>
    above
      .map((cells) => cells[i] ?? '')
      .filter((word) => word !== '')
      .map((word, k) => (k === 0 ? word : `(${word.replace(/^[([]|[)\]]$/g, '')})`))
      .join(' '),
  );
  const sample = data.slice(0, 400);
  const dateColumn = Math.max(
    0,
    typical.findIndex((cell) => DATELIKE.test(cell)),
  );
  const dateCell = typical[dateColumn] ?? '';
  const hasTime = /\d[T ]+\d{1,2}[:.h]\d{2}|^\d{12,14}(\.\d+)?$|^\d{10}(\.\d+)?$/.test(dateCell);
  const timeColumn = hasTime
    ? -1
    : typical.findIndex((cell, i) => i !== dateColumn && /^\d{1,2}:\d{2}(:\d{2})?(\s*[ap]\.?m\.?)?$/i.test(cell));
  const stamps = sample.map(
    (cells) => `${cells[dateColumn] ?? ''}${timeColumn >= 0 ? ` ${cells[timeColumn] ?? ''}` : ''}`,
  );
  const readable = stamps.filter((stamp) => /\d/.test(stamp));
  const order = guessDateOrder(readable) ?? guessDateOrder(readable.slice(0, 3));
  const doubts: string[] = [];
  const asks: string[] = [];
  if (order === null)
    return {
      ok: false,
      sentence: `Weather file: expected dates such as 2025-07-31 18:00, 7/31/2025 6:00 PM or 31.7.2025 18:00, got '${(readable[0] ?? '').slice(0, 40)}'.`,
    };
  if (!order.sure) asks.push('Order of the date: it can be read in more than one.');
  const decimal = decimalSign(sample.filter((cells) => cells.length === width));
  const taken = new Set<ColumnField>();
  const columns = headings.map((heading, index) => {
    let guess = index === dateColumn || index === timeColumn ? null : guessColumn(heading);
    if (guess !== null && taken.has(guess.field)) guess = null; // the first column of a kind is kept; the person may choose another
    if (guess !== null) taken.add(guess.field);
    return { index, heading, samples: sample.slice(0, 5).map((cells) => cells[index] ?? ''), guess };
  });
  if (taken.has('rainMm') && taken.has('rainCounterMm'))
    for (const column of columns) if (column.guess?.field === 'rainCounterMm') column.guess = null;
  const mapped = columns.flatMap(({ index, heading, guess }) => {
    if (guess === null) return [];
    const figures = sample
      .map((cells) => Number((cells[index] ?? '').replace(',', '.')))
      .filter((figure, row) => (sample[row]?.[index] ?? '') !== '' && Number.isFinite(figure));
    const most = guess.field === 'relHumidityPercent' ? 1 + COLUMN_KINDS.relHumidityPercent.slack / 100 : 1;
    const share =
      SHARES.has(guess.field) && figures.some((figure) => figure > 0) && figures.every((figure) => figure <= most);
    const unit = share ? 'fraction' : (guess.unit ?? '');
    if (share)
      doubts.push(`Column '${heading}': its figures go from 0 to 1, so they are taken as shares, not per cent.`);
    else if (unit === '') asks.push(`Column '${heading}' names no unit.`);
    else if (isRowEnergy(unit))
      doubts.push(`Column '${heading}': taken as energy in each row's own interval, not in an hour.`);
    else if (!guess.sure)
      doubts.push(
        guess.field === 'pressureKPa'
          ? `Column '${heading}': only pressure at the station is wanted, not reduced to sea level.`
          : `Column '${heading}': taken as a counter of rain; look whether that is right.`,
      );
    return [{ index, field: guess.field, unit }];
  });
  const wind = columns.filter(({ guess }) => guess?.field === 'windMPerS' || guess?.field === 'gustMPerS');
  const windHeightM =
    wind.map(({ heading }) => heightInHeading(heading)).find((height) => height !== null) ?? place.windHeightM;
  if (wind.length > 0 && windHeightM === null)
    asks.push(
      'The height of the anemometer: 10 m at airports and weather services, 2 m at many farm stations, on a pole or roof its height above the ground. Wind at 2 m is a quarter less than at 10 m.',
    );
  const stepMs = usualStepMs(
    readable
      .map((text) => readStamp(text, order.order))
      .flatMap((stamp) => (stamp.kind === 'bad' ? [] : [stamp.kind === 'wall' ? stamp.asUtcMs : stamp.utcMs])),
  );
  if (stepMs !== null && stepMs >= LONG_INTERVAL_MS)
    doubts.push(
      `Rows are ${Math.round(stepMs / 60_000)} min apart, their time taken as the beginning of its interval; many loggers write the end.`,
    );
  const dateHeading = `${headings[dateColumn] ?? ''} ${timeColumn >= 0 ? (headings[timeColumn] ?? '') : ''}`;
  const utc = /utc|gmt/i.test(dateHeading);
  if (utc) doubts.push(`'${dateHeading.trim()}': taken as UTC all year.`);
  if (mapped.length === 0) doubts.push('No heading was understood: choose the columns by hand.');
  return {
    ok: true,
    columns,
    rows: data.slice(0, 20),
    asks,
    doubts,
    mapping: {
      encoding,
      delimiter,
      decimal,
      firstDataLine: first + 1,
      dateColumn,
      timeColumn: timeColumn >= 0 ? timeColumn : null,
      dateOrder: order.sure ? order.order : null,
      stampMarks: 'start',
      clock: utc ? { kind: 'fixed', offsetMin: 0 } : { kind: 'zone', timeZone: place.timeZone },
      windHeightM,
      columnCount: above.length > 0 ? width : null,
      columns: mapped,
    },
  };
}

/** From here on beginning or end of a row's interval moves figures into another hour. */
const LONG_INTERVAL_MS = 30 * 60_000;
/** Fields in per cent, which some loggers write as shares. */
const SHARES: ReadonlySet<ColumnField> = new Set<ColumnField>([
  'relHumidityPercent',
  'cloudPercent',
  'rainChancePercent',
]);

/** How many cells most rows have: the first may be a bad one. */
function usualWidth(rows: readonly (readonly string[])[]): number {
  const counts = new Map<number, number>();
  for (const { length } of rows) counts.set(length, (counts.get(length) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? 0;
}

/** The decimal sign: a comma where cells hold one that isn't a thousands mark and no more cells hold a point. */
function decimalSign(rows: readonly (readonly string[])[]): '.' | ',' {
  const cells = rows.flat();
  const commas = cells.filter((cell) => /^[-+]?\d+,\d+$/.test(cell) && !/^[-+]?[1-9]\d{0,2},\d{3}$/.test(cell)).length;
  const points = cells.filter((cell) => /^[-+]?(\d+|[\d,]+,\d{3})\.\d+$/.test(cell)).length;
  return commas > 0 && commas >= points ? ',' : '.';
}

/**
 * A sentence when the rows hold more cells than the heading, as bare decimal commas make them do; null when they agree.
 */
function headingUnlikeRows(
  heading: readonly string[],
  rows: readonly (readonly string[])[],
  delimiter: string,
): string | null {
  const held = (cells: readonly string[]): number => cells.findLastIndex((cell) => cell !== '') + 1;
  const columns = held(heading);
  const wider = rows.filter((cells) => held(cells) > columns);
  if (
    delimiter !== ',' ||
    columns < 2 ||
    heading.some((cell) => DATA_CELL.test(cell)) ||
    wider.length * 2 <= rows.length
  )
    return null;
  return `Weather file: expected ${columns} columns as the heading has, got rows of ${held(wider[0] ?? [])}; decimal commas in a file parted by commas can't be told apart: export it with semicolons, with decimal points, or with quotation marks round the figures.`;
}
