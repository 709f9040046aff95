/** One measured value of a trial, in long form. */
export interface LongRow {
  readonly trial: string;
  readonly on: string;
  readonly dayOfTrial: number;
  readonly block: string;
  readonly plot: string;
  readonly treatment: string;
  readonly subTreatment: string | null;
  readonly measure: string;
  readonly value: number | null;
  readonly low95: number | null;
  readonly high95: number | null;
  /** Unit of value, low and high. */
  readonly unit: string;
  readonly photo: string | null;
  readonly methodVersion: string | null;
  readonly excludedBecause: string | null;
}

interface Column {
  readonly heading: string;
  readonly meaning: string;
  readonly unit: string;
  readonly of: (row: LongRow) => string | number | null;
}

// prettier-ignore
const COLUMNS: readonly Column[] = [
  { heading: 'trial', meaning: 'name of the trial', unit: 'text', of: (row) => row.trial },
  { heading: 'date (yyyy-mm-dd)', meaning: "day of the photo or rating in the lawn's time zone", unit: 'ISO 8601 date', of: (row) => row.on },
  { heading: 'day of trial (days)', meaning: 'days since the first spray; 0 on that day', unit: 'days', of: (row) => row.dayOfTrial },
  { heading: 'block', meaning: 'block, pair or row of the layout', unit: 'text', of: (row) => row.block },
  { heading: 'plot', meaning: 'number on the stake', unit: 'text', of: (row) => row.plot },
  { heading: 'treatment', meaning: 'what was sprayed; the check is the unsprayed one', unit: 'text', of: (row) => row.treatment },
  { heading: 'subplot treatment', meaning: 'second factor of a split plot, empty otherwise', unit: 'text', of: (row) => row.subTreatment },
  { heading: 'measure', meaning: 'what was measured', unit: 'text', of: (row) => row.measure },
  { heading: 'value (see unit)', meaning: 'the measured value; empty when missing', unit: 'as in the column unit', of: (row) => row.value },
  { heading: 'low 95% (see unit)', meaning: "lower end of the value's own 95% interval within its photo", unit: 'as in the column unit', of: (row) => row.low95 },
  { heading: 'high 95% (see unit)', meaning: "upper end of the value's own 95% interval within its photo", unit: 'as in the column unit', of: (row) => row.high95 },
  { heading: 'unit', meaning: 'unit of value, low and high', unit: 'text', of: (row) => row.unit },
  { heading: 'photo', meaning: 'photo the value comes from, empty for a rating on site', unit: 'text', of: (row) => row.photo },
  { heading: 'method version', meaning: 'version of the measuring method stored with the value', unit: 'text', of: (row) => row.methodVersion },
  { heading: 'left out because', meaning: 'reason the value was kept out of the analysis; empty when it counted', unit: 'text', of: (row) => row.excludedBecause },
];

/** One field by RFC 4180; text a spreadsheet would run as a formula gets a leading apostrophe. */
export function csvField(value: string | number | null): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(value);
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** Values of a trial as CSV (RFC 4180, CRLF, one row a value, unit in every heading that has one). */
export function longCsv(rows: readonly LongRow[]): string {
  const lines = [
    COLUMNS.map((column) => csvField(column.heading)),
    ...rows.map((row) => COLUMNS.map((column) => csvField(column.of(row)))),
  ];
  return lines.map((line) => `${line.join(',')}\r\n`).join('');
}

/** What each column of `longCsv` means, as CSV. */
export function dataDictionaryCsv(): string {
  const lines = [
    ['column', 'meaning', 'unit'],
    ...COLUMNS.map((column) => [column.heading, column.meaning, column.unit]),
  ];
  return lines.map((line) => `${line.map(csvField).join(',')}\r\n`).join('');
}
