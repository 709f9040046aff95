import type { LeftOut, Measure, PlotValue } from '@/lib/trial/analyse';

/** A value that counts, in the unit of the measure. */
export interface Usable extends PlotValue {
  readonly response: number;
}

/** Values that count and those that don't, with the reason. @throws RangeError for a value that is not finite */
export function sortValues(values: readonly PlotValue[], measure: Measure): { usable: Usable[]; leftOut: LeftOut[] } {
  const usable: Usable[] = [];
  const leftOut: LeftOut[] = [];
  const change = measure === 'change' || measure === 'change-against-check';
  for (const one of values) {
    const { plot, day, value, baseline = null } = one;
    const out = (reason: string): void => void leftOut.push({ plot, day, reason });
    if (one.excludedBecause) out(one.excludedBecause);
    else if (value === null) out('no value on this day');
    else if (!Number.isFinite(value))
      throw new RangeError(`value: expected a finite number or null for plot ${plot}, got ${value}`);
    else if (measure !== 'index' && baseline === null) out('no value from before the spray to compare with');
    else usable.push({ ...one, response: change ? value - baseline! : value });
  }
  return { usable, leftOut };
}
