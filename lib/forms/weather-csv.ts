import { type Options, parse } from 'csv-parse';
import { z } from 'zod';
import { TEXT_ENCODINGS, type TextEncoding, decodeText, sniffEncoding } from '@/lib/forms/text-encoding';
import { COLUMN_FIELDS, COLUMN_KINDS, type ColumnField, type ColumnGuess, columnReader, guessColumn } from '@/lib/forms/weather-columns';
import { type Readings, gatherHours } from '@/lib/forms/weather-gather';
import { DATE_ORDERS, type DateOrder, type LoggerClock, guessDateOrder, instantOnClock, readStamp } from '@/lib/forms/weather-stamps';
import type { WeatherHour } from '@/lib/weather/hour';
import { isTimeZone, zoneClock } from '@/lib/weather/local-time';

const DELIMITERS = [',', ';', '\t', '|'] as const;
/** Rows read before an import is refused: five-minute readings of twenty years. */
export const MOST_ROWS = 2_200_000;
const BAD_ROWS_LISTED = 500;
const MISSING = new Set(['', '-', '--', '---', '----', 'na', 'n/a', 'nan', 'null', 'none', 'nil', '-9999', '-9999.0', '-999.9', '#n/a', '*', '?']);

/** How one file is to be read: what the preview guesses and the person confirms. */
export const weatherCsvMappingSchema = z
  .object({
    encoding: z.enum(TEXT_ENCODINGS, { error: `encoding: expected one of ${TEXT_ENCODINGS.join(', ')}` }),
    delimiter: z.enum(DELIMITERS, { error: 'delimiter: expected a comma, semicolon, tab or bar' }),
    decimal: z.enum(['.', ','], { error: 'decimal sign: expected a point or a comma' }),
    /** First line of data, counted from 1; what stands above is heading. */
    firstDataLine: z.number().int().min(1).max(10_000),
    dateColumn: z.number().int().min(0).max(500),
    /** Column with the time of day where it stands apart, else null. */
    timeColumn: z.number().int().min(0).max(500).nullable(),
    dateOrder: z.enum(DATE_ORDERS, { error: `date order: expected one of ${DATE_ORDERS.join(', ')}` }),
    /** Whether a stamp marks the start of its reading's interval or the end. */
    stampMarks: z.enum(['start', 'end']),
    clock: z.discriminatedUnion('kind', [
      z.object({ kind: z.literal('zone'), timeZone: z.string().refine(isTimeZone, { error: "time zone: expected a name such as 'America/New_York'" }) }),
      z.object({ kind: z.literal('fixed'), offsetMin: z.number().int().min(-14 * 60).max(14 * 60) }),
    ]),
    windHeightM: z.number().min(0.5, 'wind height: expected 0.5 to 200 m').max(200, 'wind height: expected 0.5 to 200 m'),
    columns: z
      .array(z.object({ index: z.number().int().min(0).max(500), field: z.enum(COLUMN_FIELDS), unit: z.string() }))
      .min(1, 'columns: expected at least one weather column, got none'),
  })
  .superRefine((mapping, context) => {
    const seen = new Set<string>();
    for (const { field, unit } of mapping.columns) {
      if (!COLUMN_KINDS[field].units.includes(unit)) context.addIssue({ code: 'custom', message: `unit of ${field}: expected one of ${COLUMN_KINDS[field].units.join(', ')}, got '${unit}'` });
      if (seen.has(field)) context.addIssue({ code: 'custom', message: `columns: expected one column for ${field}, got two` });
      seen.add(field);
    }
  });
export type WeatherCsvMapping = z.infer<typeof weatherCsvMappingSchema>;

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
export interface Refused {
  readonly ok: false;
  readonly sentence: string;
}

const parserOptions = (delimiter: string): Options => ({
  delimiter, relax_quotes: true, relax_column_count: true, skip_empty_lines: true, bom: true, trim: false, max_record_size: 100_000,
});

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i;
function readCell(text: string, decimal: string): number {
  const dotted = decimal === ',' ? text.replace(',', '.') : text;
  return NUMBER.test(dotted) ? Number(dotted) : Number.NaN;
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
  const first = table.findIndex((cells) => cells.slice(0, 6).some((cell) => DATELIKE.test(cell)) && cells.filter((cell) => DATA_CELL.test(cell) || MISSING.has(cell.toLowerCase())).length >= 1);
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

export interface BadRow {
  /** Line of the file, from 1. */
  readonly line: number;
  readonly reason: string;
}

export interface WeatherCsvResult {
  readonly ok: true;
  readonly hours: WeatherHour[];
  readonly rowsRead: number;
  readonly rowsUsed: number;
  /** Rows or cells left out, the first 500 by line, and how many in all. */
  readonly bad: readonly BadRow[];
  readonly badCount: number;
  /** Rows that repeated an instant (see DUPLICATE_RULE). */
  readonly duplicateRows: number;
  /** Rows in the hour the clocks repeat, told apart by their order in the file. */
  readonly repeatedHourRows: number;
}

/**
 * Reads a logger's file as hours, row by row as the bytes come; writes nothing.
 * A time the clocks repeat is its first passing unless the row before is already there; a time they skip is a bad row.
 * @param source bytes of the whole file
 * @param mapping as the person confirmed it
 * @param onProgress called every 5,000 rows with the rows read
 * @returns hours in order of time, or one sentence
 */
export async function readWeatherCsv(
  source: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  mapping: unknown,
  onProgress?: (rowsRead: number) => void,
): Promise<WeatherCsvResult | Refused> {
  const checked = weatherCsvMappingSchema.safeParse(mapping);
  if (!checked.success) return { ok: false, sentence: `Weather file: ${checked.error.issues[0]?.message ?? 'the columns are not chosen'}.` };
  const reader = new RowReader(checked.data, onProgress);
  const parser = parse({
    ...parserOptions(checked.data.delimiter), info: true, from_line: checked.data.firstDataLine,
    on_record: (record: unknown, { lines }) => reader.take((record as { record: string[] }).record, lines),
  });
  let failure: Error | null = null;
  parser.on('error', (error) => { failure = error; });
  parser.resume();
  try {
    for await (const piece of decodeText(source, checked.data.encoding as TextEncoding)) {
      if (failure !== null) break;
      await new Promise((go) => { setImmediate(go); }); // other requests are served between pieces
      if (!parser.write(piece)) await new Promise<void>((go) => { parser.once('drain', go); parser.once('error', () => go()); });
      if (reader.rowsRead > MOST_ROWS) return { ok: false, sentence: `Weather file: expected at most ${MOST_ROWS.toLocaleString('en-US')} rows, got more; import it in parts.` };
    }
    if (failure === null) await new Promise<void>((go) => { parser.once('end', go); parser.once('error', () => go()); parser.end(); });
  } finally {
    parser.destroy();
  }
  if (failure !== null) return { ok: false, sentence: `Weather file: expected a table, got something that can't be read after line ${reader.lastLine}: ${(failure as Error).message}` };
  return reader.finish();
}

/** Takes rows as they come and keeps them as columns of numbers. */
class RowReader {
  rowsRead = 0;
  lastLine = 0;
  private badCount = 0;
  private readonly bad: BadRow[] = [];
  private readonly utcMs: number[] = [];
  private readonly values: number[][];
  private readonly twice = new Map<number, number>();
  private readonly read: ((value: number) => number | null)[];
  private readonly logger: LoggerClock;
  private readonly order: DateOrder;

  constructor(private readonly mapping: WeatherCsvMapping, private readonly onProgress?: (rowsRead: number) => void) {
    this.values = mapping.columns.map(() => []);
    this.read = mapping.columns.map(({ field, unit }) => columnReader(field, unit));
    this.logger = mapping.clock.kind === 'zone' ? { kind: 'zone', clock: zoneClock(mapping.clock.timeZone) } : mapping.clock;
    this.order = mapping.dateOrder;
  }

  private refuse(line: number, reason: string): null {
    this.badCount += 1;
    if (this.bad.length < BAD_ROWS_LISTED) this.bad.push({ line, reason });
    return null;
  }

  take(cells: readonly string[], line: number): null {
    this.rowsRead += 1;
    this.lastLine = line;
    if (this.rowsRead % 5000 === 0) this.onProgress?.(this.rowsRead);
    const { dateColumn, timeColumn, columns, decimal } = this.mapping;
    const date = cells[dateColumn] ?? '';
    const stamp = readStamp(timeColumn === null ? date : `${date.trim()} ${(cells[timeColumn] ?? '').trim()}`, this.order);
    if (stamp.kind === 'bad') return this.refuse(line, stamp.reason);
    let at: number;
    let later: number | null = null;
    if (stamp.kind === 'instant') at = stamp.utcMs;
    else {
      const found = instantOnClock(this.logger, stamp.asUtcMs);
      if (found.kind === 'never') {
        return this.refuse(line, `time: '${date}' does not exist where clocks were put forward by ${found.gapMin} min; does the logger keep one time all year? Then choose a fixed offset.`);
      }
      at = found.kind === 'once' ? found.utcMs : found.earlierUtcMs;
      if (found.kind === 'twice') later = found.laterUtcMs;
    }
    const row = this.utcMs.length;
    let any = false;
    for (let c = 0; c < columns.length; c += 1) {
      const column = columns[c];
      const text = (cells[column?.index ?? -1] ?? '').trim();
      let value = Number.NaN;
      if (!MISSING.has(text.toLowerCase())) {
        const got = readCell(text, decimal);
        const canonical = Number.isNaN(got) ? null : (this.read[c]?.(got) ?? null);
        if (canonical === null) {
          this.refuse(line, `${column?.field ?? ''}: expected a number${Number.isNaN(got) ? '' : ' a sensor can report'} in ${column?.unit ?? ''}, got '${text.slice(0, 40)}'; the cell is left out.`);
        } else {
          value = canonical;
          any = true;
        }
      }
      this.values[c]?.push(value);
    }
    if (!any) {
      for (const column of this.values) column.pop();
      return null; // a row without a figure says nothing, and isn't bad
    }
    this.utcMs.push(at);
    if (later !== null) this.twice.set(row, later);
    return null;
  }

  finish(): WeatherCsvResult | Refused {
    const { utcMs, twice, mapping } = this;
    if (utcMs.length === 0) {
      const [first] = this.bad;
      return { ok: false, sentence: `Weather file: expected readings, got none that can be used${first === undefined ? '' : ` (line ${first.line}: ${first.reason})`}.` };
    }
    const last = utcMs.length - 1;
    const falling = (utcMs[0] ?? 0) > (utcMs[last] ?? 0);
    const step = falling ? -1 : 1;
    if (twice.size > 0) {
      for (let row = falling ? last : 0; row >= 0 && row <= last; row += step) {
        const later = twice.get(row);
        const before = utcMs[row - step];
        if (later !== undefined && before !== undefined && (utcMs[row] ?? 0) <= before) utcMs[row] = later;
      }
    }
    if (mapping.stampMarks === 'end') for (let row = 0; row <= last; row += 1) utcMs[row] = (utcMs[row] ?? 0) - 1;
    const readings: Readings = { fields: mapping.columns.map((column) => column.field), utcMs, values: this.values };
    const { hours, duplicateRows } = gatherHours(readings, mapping.windHeightM);
    return {
      ok: true, hours, rowsRead: this.rowsRead, rowsUsed: utcMs.length, bad: this.bad, badCount: this.badCount, duplicateRows, repeatedHourRows: twice.size,
    };
  }
}
