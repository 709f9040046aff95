import 'server-only';
import { listEvents, type EventRow } from '@/lib/diary/lawn-events';
import { findLawn } from '@/lib/diary/lawns';
import { csvField } from '@/lib/trial/long-csv';
import { localOfInstant } from './lawn-time';

const rounded = (value: number | null) => (value === null ? null : Number(value.toPrecision(6)));
type Of<K extends EventRow['kind']> = Extract<EventRow, { kind: K }>;
/** A figure of events of some kinds; empty for the others. */
const of =
  <K extends EventRow['kind']>(kinds: readonly K[], figure: (event: Of<K>) => string | number | null) =>
  (event: EventRow) =>
    (kinds as readonly string[]).includes(event.kind) ? figure(event as Of<K>) : null;

const COLUMNS: readonly {
  readonly heading: string;
  readonly of: (event: EventRow, timeZone: string) => string | number | null;
}[] = [
  { heading: 'date (yyyy-mm-dd)', of: (event, zone) => localOfInstant(event.at, zone).slice(0, 10) },
  { heading: 'time (local time)', of: (event, zone) => localOfInstant(event.at, zone).slice(11) },
  { heading: 'time zone', of: (_event, zone) => zone },
  { heading: 'event', of: (event) => event.kind },
  { heading: 'plots', of: (event) => (event.wholeLawn ? 'whole lawn' : event.typed.plotNames.join('; ')) },
  { heading: 'height of cut (mm)', of: of(['mowing'], (event) => rounded(event.heightMm)) },
  { heading: 'passes along (degrees from north)', of: of(['mowing'], (event) => event.directionDeg) },
  { heading: 'blade sharpened', of: of(['mowing'], (event) => (event.bladeSharpened ? 'yes' : 'no')) },
  { heading: 'water (mm)', of: of(['watering', 'rain'], (event) => rounded(event.waterMm)) },
  { heading: 'minutes', of: of(['watering', 'rain'], (event) => event.minutes) },
  {
    heading: 'what',
    of: (event) => {
      if (event.kind === 'product') return event.use;
      if (event.kind === 'traffic') return event.traffic;
      if (event.kind === 'sighting') return event.seen;
      return event.kind === 'renovation' ? event.done : null;
    },
  },
  { heading: 'name', of: of(['product', 'traffic', 'sighting'], (event) => event.name) },
  { heading: 'rate as entered', of: (event) => event.typed.rate?.value ?? null },
  { heading: 'rate as entered: unit', of: (event) => event.typed.rate?.unit ?? null },
  { heading: 'rate (kg/ha)', of: of(['product'], (event) => rounded(event.rateKgPerHa)) },
  { heading: 'rate (L/ha)', of: of(['product'], (event) => rounded(event.rateLPerHa)) },
  { heading: 'share of the ground (%)', of: of(['sighting'], (event) => event.sharePercent) },
  { heading: 'note', of: (event) => event.note },
];

/** What happened to a lawn besides sprays, as CSV (RFC 4180, CRLF), oldest first; null when there is no such lawn. */
export async function eventRecordsCsv(lawnId: string): Promise<string | null> {
  const lawn = await findLawn(lawnId);
  if (!lawn) return null;
  const events = (await listEvents(lawnId)).reverse();
  const rows = [
    COLUMNS.map((column) => csvField(column.heading)),
    ...events.map((event) => COLUMNS.map((column) => csvField(column.of(event, lawn.timeZone)))),
  ];
  return rows.map((row) => `${row.join(',')}\r\n`).join('');
}
