import { sniffEncoding } from '@/lib/forms/text-encoding';
import { COLUMN_KINDS, type ColumnField, type ColumnGuess, guessColumn } from '@/lib/forms/weather-columns';
import { DELIMITERS, MISSING_WORDS, type Refused, type WeatherCsvMapping } from '@/lib/forms/weather-csv-mapping';
import { guessDateOrder } from '@/lib/forms/weather-stamps';

export interface WeatherCsvPreview {
  readonly ok: true;
  readonly columns: readonly { readonly index: number; readonly heading: string; readonly samples: readonly string[]; readonly guess: ColumnGuess | null }[];
  /** The first rows of data as they stand. */
  readonly rows: readonly (readonly string[])[];
  /** What is guessed; fields the file can't tell (zone, wind height) are taken from the caller. */
  readonly mapping: WeatherCsvMapping;
  /** What the person should look at, in words. */
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

const DATELIKE = /^\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|^\d{8}([T ]?\d{4,6})?$|^1\d{9}(\d{3})?$/;
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
    const whole = lines.filter((line) => roughSplit(line, delimiter).slice(1).every((part) => part === '' || DATA_CELL.test(part) || part.length > 2)).length;
    const score = parts > 1 ? agreeing + whole / 2 + (delimiter === ',' ? 0 : 0.25) : 0;
    if (score > (best?.score ?? 0)) best = { delimiter, score };
  }
  return best?.delimiter ?? null;
}

/**
 * What a file seems to hold, from its first bytes (256 kB do): encoding, delimiter, decimal sign, headings, columns, units, date order.
 * @param head the file's beginning; a last line cut in two is left out when `cut`
 * @param place the lawn's zone and the wind height to start from
 * @returns a guess to be confirmed, or one sentence why there is none
 */
export function previewWeatherCsv(head: Uint8Array, cut: boolean, place: { readonly timeZone: string; readonly windHeightM: number }): WeatherCsvPreview | Refused {
  if (head.length === 0) return { ok: false, sentence: 'Weather file: expected a table of readings, got an empty file.' };
  const encoding = sniffEncoding(head);
  const text = new TextDecoder(encoding).decode(head);
  if (text.includes('\u0000')) return { ok: false, sentence: 'Weather file: expected text (CSV), got a binary file; export it from the logger or spreadsheet as CSV.' };
  const lines = text.split(/\r\n|\n|\r/);
  if (cut) lines.pop();
  const delimiter = sniffDelimiter(lines.slice(0, 400).filter((line) => line.trim() !== ''));
  if (delimiter === null) return { ok: false, sentence: 'Weather file: expected columns parted by comma, semicolon, tab or bar, got lines of one column.' };
  const table = lines.map((line) => roughSplit(line, delimiter));
  const first = table.findIndex((cells) => cells.slice(0, 6).some((cell) => DATELIKE.test(cell)) && cells.filter((cell) => DATA_CELL.test(cell) || MISSING_WORDS.has(cell.toLowerCase())).length >= 1);
  if (first === -1) return { ok: false, sentence: 'Weather file: expected rows with a date and numbers, got none in its first lines.' };
  const data = table.slice(first).filter((cells) => cells.length > 1);
  const width = data[0]?.length ?? 0;
  const above = table.slice(Math.max(0, first - 2), first).filter((cells) => cells.length >= width - 1 && cells.length > 1);
  const headings = Array.from({ length: width }, (_, i) => above.map((cells) => cells[i] ?? '').filter((word) => word !== '').map((word, k) => (k === 0 ? word : `(${word.replace(/^[([]|[)\]]$/g, '')})`)).join(' '));
  const sample = data.slice(0, 400);
  const dateColumn = Math.max(0, (data[0] ?? []).findIndex((cell) => DATELIKE.test(cell)));
  const dateCell = data[0]?.[dateColumn] ?? '';
  const hasTime = /\d[T ]+\d{1,2}[:.h]\d{2}|^\d{12,14}$|^\d{10}$/.test(dateCell);
  const timeColumn = hasTime ? -1 : (data[0] ?? []).findIndex((cell, i) => i !== dateColumn && /^\d{1,2}:\d{2}(:\d{2})?(\s*[ap]\.?m\.?)?$/i.test(cell));
  const stamps = sample.map((cells) => `${cells[dateColumn] ?? ''}${timeColumn >= 0 ? ` ${cells[timeColumn] ?? ''}` : ''}`);
  const readable = stamps.filter((stamp) => /\d/.test(stamp));
  const order = guessDateOrder(readable) ?? guessDateOrder(readable.slice(0, 3));
  const doubts: string[] = [];
  if (order === null) return { ok: false, sentence: `Weather file: expected dates such as 2025-07-31 18:00, 7/31/2025 6:00 PM or 31.7.2025 18:00, got '${(readable[0] ?? '').slice(0, 40)}'.` };
  if (!order.sure) doubts.push(`The dates can be read in more than one order; taken as ${order.order}.`);
  const commas = sample.filter((cells) => cells.some((cell) => /^[-+]?\d+,\d+$/.test(cell))).length;
  const decimal = delimiter !== ',' && commas > 0 ? ',' : '.';
  const taken = new Set<ColumnField>();
  const columns = headings.map((heading, index) => {
    let guess = index === dateColumn || index === timeColumn ? null : guessColumn(heading);
    if (guess !== null && taken.has(guess.field)) guess = null; // the first column of a kind is kept; the person may choose another
    if (guess !== null) taken.add(guess.field);
    return { index, heading, samples: sample.slice(0, 5).map((cells) => cells[index] ?? ''), guess };
  });
  if (taken.has('rainMm') && taken.has('rainCounterMm')) for (const column of columns) if (column.guess?.field === 'rainCounterMm') column.guess = null;
  const mapped = columns.flatMap(({ index, heading, guess }) => {
    if (guess === null) return [];
    const unit = guess.unit ?? COLUMN_KINDS[guess.field].units[0] ?? '';
    if (guess.unit === null) doubts.push(`Column '${heading}' names no unit; taken as ${unit}.`);
    else if (!guess.sure) doubts.push(guess.field === 'pressureKPa' ? `Column '${heading}': only pressure at the station is wanted, not reduced to sea level.` : `Column '${heading}': taken as a counter of rain; look whether that is right.`);
    return [{ index, field: guess.field, unit }];
  });
  if (mapped.length === 0) doubts.push('No heading was understood: choose the columns by hand.');
  return {
    ok: true, columns, rows: data.slice(0, 20), doubts,
    mapping: {
      encoding, delimiter, decimal, firstDataLine: first + 1, dateColumn, timeColumn: timeColumn >= 0 ? timeColumn : null, dateOrder: order.order,
      stampMarks: 'start', clock: { kind: 'zone', timeZone: place.timeZone }, windHeightM: place.windHeightM, columns: mapped,
    },
  };
}
