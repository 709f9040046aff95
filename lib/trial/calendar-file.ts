import { DAY_MS } from '@/lib/units/time';

/** One all-day entry. `uid` must be stable, so that a second import replaces the first. */
export interface CalendarEntry {
  readonly uid: string;
  /** Civil date, yyyy-mm-dd. */
  readonly on: string;
  readonly title: string;
  readonly text?: string;
}

/**
 * TEXT escaping: backslash, semicolon, comma, line break (RFC 5545, 3.3.11); other control characters are not allowed
 * and go.
 */
function escapeText(text: string): string {
  return (
    text
      .replace(/\r\n|\r/g, '\n')
      .replace(/[\\;,]/g, (mark) => `\\${mark}`)
      .replace(/\n/g, '\\n')
      // eslint-disable-next-line no-control-regex
      .replace(/[\u0000-\u0008\u000b-\u001f\u007f]/g, '')
  );
}

/** Folds a content line after at most 75 octets of UTF-8, never inside a character (RFC 5545, 3.1). */
function fold(line: string): string {
  const encoder = new TextEncoder();
  const parts: string[] = [];
  let part = '';
  let octets = 0;
  for (const character of line) {
    const size = encoder.encode(character).length;
    // A continuation line spends one octet on its leading space.
    if (octets + size > (parts.length === 0 ? 75 : 74)) {
      parts.push(part);
      part = '';
      octets = 0;
    }
    part += character;
    octets += size;
  }
  return [...parts, part].join('\r\n ');
}

const compact = (ms: number): string => new Date(ms).toISOString().slice(0, 10).replaceAll('-', '');

/**
 * A calendar file (text/calendar) of all-day entries that leave the person free, each with a reminder at 8 in the
 * morning.
 * @param stampedAt when the file was made, ISO 8601 in UTC (the caller's clock)
 * @see RFC 5545: 3.1 (lines), 3.3.11 (text), 3.6.1 (events), 3.6.6 (alarms)
 */
export function calendarFile(name: string, days: readonly CalendarEntry[], stampedAt: string): string {
  const stamp = new Date(stampedAt);
  if (Number.isNaN(stamp.getTime()))
    throw new RangeError(`stampedAt: expected an ISO 8601 instant, got '${stampedAt}'`);
  const dtstamp = `${stamp.toISOString().replace(/[-:]/g, '').slice(0, 15)}Z`;
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//Swathbook//Trial days//EN',
    'CALSCALE:GREGORIAN',
    'METHOD:PUBLISH',
    `NAME:${escapeText(name)}`,
  ];
  const seen = new Set<string>();
  for (const day of days) {
    if (seen.has(day.uid)) throw new RangeError(`uid: expected each once, got '${day.uid}' twice`);
    seen.add(day.uid);
    const start = Date.parse(`${day.on}T00:00:00Z`);
    if (!/^\d{4}-\d{2}-\d{2}$/.test(day.on) || Number.isNaN(start))
      throw new RangeError(`on: expected yyyy-mm-dd, got '${day.on}'`);
    lines.push(
      'BEGIN:VEVENT',
      `UID:${escapeText(day.uid)}`,
      `DTSTAMP:${dtstamp}`,
      `DTSTART;VALUE=DATE:${compact(start)}`,
      `DTEND;VALUE=DATE:${compact(start + DAY_MS)}`,
      `SUMMARY:${escapeText(day.title)}`,
      ...(day.text ? [`DESCRIPTION:${escapeText(day.text)}`] : []),
      'TRANSP:TRANSPARENT',
      'BEGIN:VALARM',
      'ACTION:DISPLAY',
      `DESCRIPTION:${escapeText(day.title)}`,
      'TRIGGER:PT8H',
      'END:VALARM',
      'END:VEVENT',
    );
  }
  lines.push('END:VCALENDAR');
  return lines.map((line) => `${fold(line)}\r\n`).join('');
}
