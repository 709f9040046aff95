/** The one thing to do otherwise that answers most of what the record points to, in the reader's units. */
import type { CauseFinding, SprayWhatIf } from '@/lib/explain/causes';
import { showLiquidRate, showNutrientRate, showSpeed, showTemperature, type UnitSystem } from '@/lib/units/display';

/** What was sprayed, as far as it is known. */
export interface SprayedThen {
  readonly carrierLPerHa: number | null;
  readonly ironKgPerHa: number | null;
}

/**
 * The what-if that the most causes ask for, a likely one counting twice a possible one; the first of the strongest
 * cause among equals. Our own rule, no source.
 * @returns null when no cause asks for anything
 */
export function mostHelpful(findings: readonly CauseFinding[]): SprayWhatIf | null {
  const weight = new Map<string, { whatIf: SprayWhatIf; points: number }>();
  for (const { strength, whatIf } of findings) {
    if (strength !== 'likely' && strength !== 'possible') continue;
    for (const one of new Map(whatIf.map((idea) => [idea.id, idea])).values()) {
      weight.set(one.id, {
        whatIf: weight.get(one.id)?.whatIf ?? one,
        points: (weight.get(one.id)?.points ?? 0) + (strength === 'likely' ? 2 : 1),
      });
    }
  }
  return [...weight.values()].toSorted((a, b) => b.points - a.points)[0]?.whatIf ?? null;
}

/** What to do otherwise, with its number, as it follows "next time:". */
export function nextTimeText(
  { id, change }: SprayWhatIf,
  { carrierLPerHa, ironKgPerHa }: SprayedThen,
  system: UnitSystem,
): string {
  switch (id) {
    case 'twice-the-carrier':
    case 'half-the-strength':
      return carrierLPerHa === null
        ? 'the same products in twice the water'
        : `the same products in twice the water, ${showLiquidRate(carrierLPerHa * (change.carrierFactor ?? 2), system).text}`;
    case 'half-the-iron':
      return ironKgPerHa === null
        ? 'half the iron'
        : `half the iron, ${showNutrientRate(ironKgPerHa * (change.ironFactor ?? 0.5), system, 2).text}`;
    case 'wait-for-interval': {
      const days = Math.ceil(change.waitDays ?? 0);
      return `wait ${days === 1 ? 'one more day' : `${days} more days`} between two sprays of iron`;
    }
    case 'later-in-the-evening':
      return 'the same half an hour before sunset';
    case 'cooler-day':
      return change.maxTempC === undefined
        ? 'a cooler day'
        : `a day that stays below ${showTemperature(change.maxTempC, system).text}`;
    case 'without-surfactant':
      return 'the same without the surfactant';
    case 'calmer-hour':
      return change.maxWindMPerS === undefined
        ? 'a calmer hour'
        : `an hour with wind below ${showSpeed(change.maxWindMPerS, system).text}`;
  }
}
