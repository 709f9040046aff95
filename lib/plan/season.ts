import { type WallTime, zoneClock } from '@/lib/weather/local-time';

/** The season a spray counts in. Times are milliseconds since 1970, UTC. */
export interface Season {
  readonly fromMs: number;
  readonly toMs: number;
  /** Year in which it begins on the lawn's calendar. */
  readonly year: number;
  readonly beginsIn: 'January' | 'July';
}

/**
 * The season that holds an instant: the calendar year, by the lawn's own clock; south of the equator from July to June,
 * so that no summer is cut in two. Labels say "per year" or "per season"; where a label's year begins elsewhere, the
 * label wins.
 */
export function seasonOf(utcMs: number, timeZone: string, latitudeDeg: number | null): Season {
  const clock = zoneClock(timeZone);
  const now = clock.wallAt(utcMs);
  const south = latitudeDeg !== null && latitudeDeg < 0;
  const month = south ? 7 : 1;
  const year = now.month >= month ? now.year : now.year - 1;
  const begin = (inYear: number): number => {
    const wall: WallTime = { year: inYear, month, day: 1, hour: 0, minute: 0, second: 0 };
    const found = clock.instantOf(wall);
    return found.kind === 'once' ? found.utcMs : found.kind === 'twice' ? found.earlierUtcMs : found.gapEndUtcMs;
  };
  return { fromMs: begin(year), toMs: begin(year + 1), year, beginsIn: south ? 'July' : 'January' };
}
