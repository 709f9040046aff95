import { significant, type UnitSystem } from '@/lib/units/display';
import { fromM } from '@/lib/units/length';
import type { DryingResult } from '@/lib/weather/drying';
import type { SunEvents } from '@/lib/weather/sun-times';
import { timeText, type Reader } from '@/lib/units/dates';

/** Rain or evaporation for the reader: mm, or inches to a hundredth. */
export function waterText(mm: number, system: UnitSystem): string {
  return system === 'metric' ? `${fixed(mm, 1)} mm` : `${fixed(fromM(mm / 1000, 'in').value, 2)} in`;
}

/** To so many decimals, without a minus sign before nothing. */
export function fixed(value: number, decimals: number): string {
  return value.toFixed(decimals).replace(/^-(0(?:\.0+)?)$/, '$1');
}

/** Height of grass: mm or inches. */
export function grassText(heightM: number, system: UnitSystem): string {
  return system === 'metric' ? `${significant(heightM * 1000)} mm` : `${significant(fromM(heightM, 'in').value)} in`;
}

/** 9 min, 55 min, 2 h 10 min */
export function minutesText(minutes: number): string {
  const whole = Math.round(minutes);
  if (whole < 100) return `${minutes < 10 ? significant(minutes, 2) : whole} min`;
  return `${Math.floor(whole / 60)} h ${whole % 60} min`;
}

/** The same in the little room of a cell: minutes, or whole hours from 100 min on. */
function shortMinutesText(minutes: number): string {
  return Math.round(minutes) < 100 ? minutesText(minutes) : `${Math.round(minutes / 60)} h`;
}

/** A drying time in a word or two, for cells. */
export function dryingText(result: Pick<DryingResult, 'kind'> & { minutes?: number | null }): string {
  if (result.kind === 'dries') return shortMinutesText(result.minutes ?? 0);
  if (result.kind === 'does-not-dry') return 'stays wet';
  return result.kind === 'rained-on' ? 'rain' : 'unknown';
}

export function sunText(sun: SunEvents, reader: Reader): string {
  if (sun.kind === 'always-above') return 'the sun does not set';
  if (sun.kind === 'always-below') return 'the sun does not rise';
  return `sunrise ${timeText(new Date(sun.riseUtcMs), reader)}, sunset ${timeText(new Date(sun.setUtcMs), reader)}`;
}
