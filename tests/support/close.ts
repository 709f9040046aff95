import { expect } from 'vitest';

/** Expects |got - wanted| <= tolerance, and says all three when it isn't so. */
export function expectClose(what: string, got: number | null | undefined, wanted: number, tolerance: number): void {
  const off = typeof got === 'number' ? Math.abs(got - wanted) : NaN;
  expect(off, `${what}: wanted ${wanted} within ${tolerance}, got ${got}`).toBeLessThanOrEqual(tolerance);
}
