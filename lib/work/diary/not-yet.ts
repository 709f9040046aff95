import 'server-only';
import { DAY_MS } from '@/lib/units/time';

/** Clocks of a phone and of this machine differ by minutes; more than this ahead is the future. */
const CLOCK_SLACK_MS = 15 * 60_000;
/** A spray is done within a day, however large the lawn. */
const LONGEST_MS = DAY_MS;
/** No diary of a lawn begins before: an earlier year is a slip of the finger. */
const EARLIEST_MS = Date.UTC(1950, 0, 1);

/** Whether a moment lies in the future, by more than clocks differ. */
export const isToCome = (at: Date, now: Date): boolean => at.getTime() > now.getTime() + CLOCK_SLACK_MS;

/** The sentence for a moment that can't have been yet, or lies before any diary; null when it can stand. */
export function notYet(label: string, typed: string, at: Date, now: Date, otherwise = ''): string | null {
  if (isToCome(at, now))
    return `${label}: expected a time that has been, got ${typed.replace('T', ' ')}, which is still to come${otherwise}`;
  if (at.getTime() < EARLIEST_MS) return `${label}: expected a time from 1950 on, got ${typed.replace('T', ' ')}`;
  return null;
}

/** The sentence for an end that lies too long after its start; null when it can stand. */
export function tooLong(start: Date, end: Date, typed: string): string | null {
  return end.getTime() - start.getTime() > LONGEST_MS
    ? `End: expected a time within a day of the start, got ${typed.replace('T', ' ')}`
    : null;
}
