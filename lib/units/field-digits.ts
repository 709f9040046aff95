/**
 * A number for a field, when it was turned from another unit: as few digits as stay within 0.02% of it, at least four,
 * at most six. So what somebody typed with four digits or fewer comes back as typed, and 210 m is 689 ft, not 688.976.
 * @example fieldDigits(688.976) // 689
 */
export function fieldDigits(value: number): number {
  for (const digits of [4, 5]) {
    const short = Number(value.toPrecision(digits));
    if (Math.abs(short - value) <= 2e-4 * Math.abs(value)) return short;
  }
  return Number(value.toPrecision(6));
}
