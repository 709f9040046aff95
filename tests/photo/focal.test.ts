import { describe, expect, test } from 'vitest';
import { focalOverLongSide } from '@/lib/photo/ground/focal';

describe('focalOverLongSide', () => {
  test('is half the film diagonal’s view for a square: 45 degrees at 21.63 mm', () => {
    // By the definition itself: a lens whose half-diagonal is its focal length sees 45 degrees to the corner, in any
    // format.
    const half = Math.hypot(36, 24) / 2;
    expect(focalOverLongSide(half, 3000, 3000)).toBeCloseTo(Math.SQRT1_2, 6);
    expect(focalOverLongSide(half, 3600, 2400)! * 3600).toBeCloseTo(Math.hypot(3600, 2400) / 2, 6);
  });

  test('does not change when the photo is turned, and knows nothing of what no camera has', () => {
    expect(focalOverLongSide(26, 3000, 4000)).toBe(focalOverLongSide(26, 4000, 3000));
    expect(focalOverLongSide(null, 4000, 3000)).toBeUndefined();
    expect(focalOverLongSide(3, 4000, 3000)).toBeUndefined();
  });
});
