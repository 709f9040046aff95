import type { CauseDraft, CauseEvidence, MarkRecord } from '@/lib/explain/causes';

/** An empty draft. */
export const draft = (): CauseDraft => ({ forIt: [], against: [], unknown: [], whatIf: [], notWeighed: null });
export const decisive = (text: string, source: string): CauseEvidence => ({ text, source, weight: 'decisive' });
export const strong = (text: string, source: string): CauseEvidence => ({ text, source, weight: 'strong' });
export const some = (text: string, source: string): CauseEvidence => ({ text, source, weight: 'some' });
/** Whether a figure is known; one that isn't is noted as missing. */
export const known = (value: number | null, name: string, d: CauseDraft): value is number => {
  if (value === null) d.unknown.push(name);
  return value !== null;
};
/** A number in words. */
export const round = (value: number, digits = 1): string => String(Number(value.toFixed(digits)));

/**
 * Days after the spray before which the mark can't have arisen: 0 where no photo shows the plot without it. First seen
 * is not arisen.
 */
export const aroseAfter = ({ clearUntilDays }: MarkRecord): number => Math.max(0, clearUntilDays ?? 0);
