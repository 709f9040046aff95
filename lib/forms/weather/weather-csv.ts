import { HOUR_MS } from '@/lib/units/time';
import { parse } from 'csv-parse/sync';
import { decodeText } from '@/lib/forms/weather/text-encoding';
import { COLUMN_KINDS, columnReader, isRowEnergy } from '@/lib/forms/weather/weather-columns';
import {
  MISSING_WORDS,
  type Refused,
  type WeatherCsvMapping,
  weatherCsvMappingSchema,
} from '@/lib/forms/weather/weather-csv-mapping';
import { type Readings, gatherHours, usualStepMs } from '@/lib/forms/weather/weather-gather';
import { type DateOrder, type LoggerClock, instantOnClock, readStamp } from '@/lib/forms/weather/weather-stamps';
import { type WeatherHour } from '@/lib/weather/hour';
import { zoneClock } from '@/lib/weather/local-time';

/** Rows read before an import is refused: five-minute readings of twenty years. */
const MOST_ROWS = 2_200_000;
const BAD_ROWS_LISTED = 500;

/** A line this long is no row of a table. */
const LONGEST_LINE = 100_000;

/**
 * The cells of one line. A logger's cell never holds a line break, so each line is read by itself: a quotation mark
 * that is opened and not closed spoils its own row and no other. Null when it can't be read.
 */
function cellsOf(line: string, delimiter: string): readonly string[] | null {
  if (!line.includes('"')) return line.split(delimiter);
  try {
    const [cells] = parse(line, { delimiter, relax_quotes: true, relax_column_count: true }) as string[][];
    return cells ?? null;
  } catch {
    return null;
  }
}

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i;
function readCell(text: string, decimal: string): number {
  const dotted = decimal === ',' ? text.replace(',', '.') : text;
  return NUMBER.test(dotted) ? Number(dotted) : Number.NaN;
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
  /** Rows that repeated an instant (merged: the later line wins cell by cell, an empty cell never overwrites a figure). */
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
  if (!checked.success)
    return {
      ok: false,
      sentence: `Weather file: ${checked.error.issues[0]?.message ?? 'the columns are not chosen'}.`,
    };
  const reader = new RowReader(checked.data, onProgress);
  let rest = '';
  for await (const piece of decodeText(source, checked.data.encoding)) {
    await new Promise((go) => {
      setImmediate(go);
    }); // other requests are served between pieces
    rest += piece;
    // A carriage return at the very end may be half of a pair: it waits for the next piece.
    const whole = rest.endsWith('\r') ? rest.slice(0, -1) : rest;
    const lines = whole.split(/\r\n|\n|\r/);
    rest = (lines.pop() ?? '') + rest.slice(whole.length);
    for (const line of lines) reader.line(line);
    if (rest.length > LONGEST_LINE)
      return {
        ok: false,
        sentence: `Weather file: expected rows of a table, got a line of more than ${LONGEST_LINE.toLocaleString('en-US')} characters after line ${reader.lastLine}.`,
      };
    if (reader.rowsRead > MOST_ROWS)
      return {
        ok: false,
        sentence: `Weather file: expected at most ${MOST_ROWS.toLocaleString('en-US')} rows, got more; import it in parts.`,
      };
  }
  reader.line(rest.replace(/\r$/, ''));
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
  private readonly rowEnergy: boolean;
  private readonly lines: number[] = [];

  constructor(
    private readonly mapping: WeatherCsvMapping,
    private readonly onProgress?: (rowsRead: number) => void,
  ) {
    this.values = mapping.columns.map(() => []);
    this.read = mapping.columns.map(({ field, unit }) => columnReader(field, unit));
    this.logger =
      mapping.clock.kind === 'zone' ? { kind: 'zone', clock: zoneClock(mapping.clock.timeZone) } : mapping.clock;
    this.order = mapping.dateOrder;
    this.rowEnergy = mapping.columns.some(({ unit }) => isRowEnergy(unit));
  }

  private refuse(line: number, reason: string): null {
    this.badCount += 1;
    if (this.bad.length < BAD_ROWS_LISTED) this.bad.push({ line, reason });
    return null;
  }

  /** Takes the next line of the file, in order; lines above the data and empty ones are passed over. */
  line(text: string): void {
    this.lastLine += 1;
    if (this.lastLine < this.mapping.firstDataLine) return;
    const bare = this.lastLine === 1 ? text.replace(/^\uFEFF/, '') : text;
    if (bare.trim() === '') return;
    const cells = cellsOf(bare, this.mapping.delimiter);
    if (cells === null) {
      this.rowsRead += 1;
      this.refuse(
        this.lastLine,
        `row: expected quotation marks in pairs, got '${bare.slice(0, 60)}'; the row is left out.`,
      );
    } else this.take(cells, this.lastLine);
  }

  private take(cells: readonly string[], line: number): null {
    this.rowsRead += 1;
    if (this.rowsRead % 5000 === 0) this.onProgress?.(this.rowsRead);
    const { dateColumn, timeColumn, columns, columnCount, decimal } = this.mapping;
    if (columnCount !== null && cells.length > columnCount) {
      const held = cells.findLastIndex((cell) => cell.trim() !== '') + 1;
      if (held > columnCount)
        return this.refuse(line, `row: expected ${columnCount} columns, got ${held}; the row is left out.`);
    }
    const date = cells[dateColumn] ?? '';
    const stamp = readStamp(
      timeColumn === null ? date : `${date.trim()} ${(cells[timeColumn] ?? '').trim()}`,
      this.order,
    );
    if (stamp.kind === 'bad') return this.refuse(line, stamp.reason);
    let at: number;
    let later: number | null = null;
    if (stamp.kind === 'instant') at = stamp.utcMs;
    else {
      const found = instantOnClock(this.logger, stamp.asUtcMs);
      if (found.kind === 'never') {
        return this.refuse(
          line,
          `time: '${date}' does not exist where clocks were put forward by ${found.gapMin} min; does the logger keep one time all year? Then choose a fixed offset.`,
        );
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
      if (!MISSING_WORDS.has(text.toLowerCase())) {
        const got = readCell(text, decimal);
        const canonical = Number.isNaN(got) ? null : (this.read[c]?.(got) ?? null);
        if (canonical === null) {
          this.refuse(
            line,
            `${column?.field ?? ''}: expected a number${Number.isNaN(got) ? '' : ' a sensor can report'} in ${column?.unit ?? ''}, got '${text.slice(0, 40)}'; the cell is left out.`,
          );
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
    if (this.rowEnergy) this.lines.push(line);
    if (later !== null) this.twice.set(row, later);
    return null;
  }

  finish(): WeatherCsvResult | Refused {
    const { utcMs, twice, mapping } = this;
    if (utcMs.length === 0) {
      const [first] = this.bad;
      return {
        ok: false,
        sentence: `Weather file: expected readings, got none that can be used${first === undefined ? '' : ` (line ${first.line}: ${first.reason})`}.`,
      };
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
    if (this.rowEnergy) this.spreadRowEnergy();
    const readings: Readings = {
      fields: mapping.columns.map((column) => column.field),
      units: mapping.columns.map((column) => column.unit),
      utcMs,
      values: this.values,
    };
    const { hours, duplicateRows } = gatherHours(readings, mapping.windHeightM);
    return {
      ok: true,
      hours,
      rowsRead: this.rowsRead,
      rowsUsed: utcMs.length,
      bad: this.bad,
      badCount: this.badCount,
      duplicateRows,
      repeatedHourRows: twice.size,
    };
  }

  /**
   * Energy in a row's interval as the mean power over it: what was read as energy of an hour is put to the interval the
   * rows have.
   */
  private spreadRowEnergy(): void {
    const stepMs = usualStepMs(this.utcMs);
    if (stepMs === null || stepMs === HOUR_MS) return;
    this.mapping.columns.forEach(({ field, unit }, c) => {
      const column = this.values[c];
      if (!isRowEnergy(unit) || column === undefined) return;
      const { max, slack } = COLUMN_KINDS[field];
      for (let row = 0; row < column.length; row += 1) {
        const power = (column[row] ?? Number.NaN) * (HOUR_MS / stepMs);
        if (power > max + slack) {
          this.refuse(
            this.lines[row] ?? 0,
            `${field}: expected energy the sun can give in ${Math.round(stepMs / 60_000)} min, got ${Math.round(power)} W/m²; the cell is left out.`,
          );
          column[row] = Number.NaN;
        } else column[row] = power;
      }
    });
  }
}
