import { DAY_MS } from '@/lib/units/time';

/** What a trial asks for on one day. Days are civil dates, yyyy-mm-dd, in the lawn's own time zone. */
export interface DueItem {
  readonly kind: 'spray' | 'photo' | 'rating';
  readonly plannedOn: string;
  /** Days since the first spray of the trial; 0 on that day, negative before it. */
  readonly dayOfTrial: number;
  /** 'late' after the planned day and still within its window, 'missed' beyond the window. */
  readonly state: 'done' | 'due' | 'late' | 'missed' | 'later';
  /** Plots still without this photo or rating. */
  readonly missingPlots: readonly string[];
}

/** The plan and what has come in. */
export interface DueInput {
  readonly firstSprayOn: string;
  /** Days after the first spray on which a photo is wanted (0 = before spraying). */
  readonly photoDays: readonly number[];
  readonly ratingDays: readonly number[];
  readonly furtherSprayDays?: readonly number[];
  readonly plots: readonly string[];
  /** Plots already photographed, rated, or (all of them) sprayed, by kind and date. */
  readonly done: readonly { readonly kind: DueItem['kind']; readonly on: string; readonly plot: string }[];
  /** How many days late a photo still counts (default 1; at most half the gap to the next one). */
  readonly windowDays?: number;
}

/** Whole days from one civil date to another (yyyy-mm-dd). @throws RangeError for anything that is no date. */
export function daysBetween(from: string, to: string): number {
  return (dayNumber(to) - dayNumber(from)) / DAY_MS;
}

/** The civil date `days` later. */
export function addDays(date: string, days: number): string {
  return new Date(dayNumber(date) + days * DAY_MS).toISOString().slice(0, 10);
}

function dayNumber(date: string): number {
  const ms = /^\d{4}-\d{2}-\d{2}$/.test(date) ? Date.parse(`${date}T00:00:00Z`) : NaN;
  if (Number.isNaN(ms) || new Date(ms).toISOString().slice(0, 10) !== date)
    throw new RangeError(`date: expected yyyy-mm-dd, got '${date}'`);
  return ms;
}

/** Everything the plan asks for, in order of date, with its state on `today`. */
export function whatIsDue(input: DueInput, today: string): DueItem[] {
  const plan = (kind: DueItem['kind'], days: readonly number[]): DueItem[] => {
    const sorted = [...days].sort((a, b) => a - b);
    return sorted.map((day, i) => {
      const gap = (sorted[i + 1] ?? Infinity) - day;
      const window = Math.max(0, Math.min(input.windowDays ?? 1, Math.floor((gap - 1) / 2)));
      const got = new Set(
        input.done
          .filter((one) => one.kind === kind && Math.abs(daysBetween(input.firstSprayOn, one.on) - day) <= window)
          .map((one) => one.plot),
      );
      const missingPlots = input.plots.filter((plot) => !got.has(plot));
      const plannedOn = addDays(input.firstSprayOn, day);
      const late = daysBetween(plannedOn, today);
      const state =
        missingPlots.length === 0
          ? 'done'
          : late < 0
            ? 'later'
            : late === 0
              ? 'due'
              : late <= window
                ? 'late'
                : 'missed';
      return { kind, plannedOn, dayOfTrial: day, state, missingPlots };
    });
  };
  const order = { photo: 0, rating: 1, spray: 2 };
  return [
    ...plan('spray', [0, ...(input.furtherSprayDays ?? [])]),
    ...plan('photo', input.photoDays),
    ...plan('rating', input.ratingDays),
  ].sort((a, b) => a.dayOfTrial - b.dayOfTrial || order[a.kind] - order[b.kind]);
}
