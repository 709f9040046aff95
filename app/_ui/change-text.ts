import type { Figure, PlotChange } from '@/lib/work/photos/changes';

/** A change or difference of the index, with its sign. */
export const signed = (value: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(3)}`;

/** Both ends of its 95% interval. */
export const intervalText = ({ low95, high95 }: Figure): string =>
  low95 === null || high95 === null ? 'too small for an interval' : `${signed(low95)} to ${signed(high95)}`;

/** Which ground a change counts; empty where there is nothing to say. */
export function groundText({ counted, marksLeftOut, otherWay }: PlotChange): string {
  if (marksLeftOut > 0) return `${marksLeftOut === 1 ? 'one marked patch' : `${marksLeftOut} marked patches`} left out`;
  return counted === 'all-ground' && otherWay ? 'dismissed marks counted' : '';
}

/** A plot's name with what it is; one that is called so already isn't called so twice. */
export const saysCheck = (name: string): boolean => /\bcheck\b/i.test(name);
export const checkName = (name: string): string => (saysCheck(name) ? name : `${name} (check)`);
/** What stands behind a plot's name and size in a list to tick. */
export const asCheck = (plot: { readonly name: string; readonly isCheck: boolean }): string =>
  plot.isCheck && !saysCheck(plot.name) ? ', the check' : '';
