import { refused, type Refusal } from '@/lib/expect';

/** A substance in a product and its share by mass; what the shares leave is water or inert matter. */
export interface CompositionPart {
  readonly substance: string;
  readonly massShare: number;
}

/** The first thing wrong with a composition, or null. */
export function compositionFault(parts: readonly CompositionPart[]): Refusal | null {
  let sum = 0;
  for (const { substance, massShare } of parts) {
    if (!(massShare >= 0 && massShare <= 1))
      return refused('composition', `Share of ${substance}: expected 0 to 100 %, got ${massShare * 100} %.`);
    sum += massShare;
  }
  return sum > 1.001
    ? refused('composition', `Composition: expected shares of at most 100 % in all, got ${(sum * 100).toFixed(1)} %.`)
    : null;
}
