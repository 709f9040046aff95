import { describe, expect, it } from 'vitest';
import { agreeOrDoubt } from '@/lib/photo/agree';
import { composeHomographies, IDENTITY, type Homography } from '@/lib/photo/homography';
import type { Point } from '@/lib/photo/pixels';

const PLOT: Point[][] = [[[100, 100], [900, 100], [900, 700], [100, 700]]];
const DIAGONAL = 1250;
const shift = (x: number): Homography => [1, 0, x, 0, 1, 0, 0, 0, 1];

describe('agreeOrDoubt', () => {
  it('agrees when both ways end within the tolerance, and uses the direct one', () => {
    const found = agreeOrDoubt({ fromReference: shift(20), accepted: true }, { fromReference: shift(26), accepted: true }, PLOT, DIAGONAL);
    expect(found).toEqual({ verdict: 'agree', fromReference: shift(20), gapPercent: 0.48 });
  });

  it('doubts when they differ by more', () => {
    const found = agreeOrDoubt({ fromReference: shift(20), accepted: true }, { fromReference: shift(40), accepted: true }, PLOT, DIAGONAL);
    expect(found.verdict).toBe('doubt');
    expect(found.gapPercent).toBeCloseTo(1.6, 9);
  });

  it('follows the one accepted way, whichever it is', () => {
    expect(agreeOrDoubt({ fromReference: shift(1), accepted: false }, { fromReference: shift(90), accepted: true }, PLOT, DIAGONAL))
      .toMatchObject({ verdict: 'one', fromReference: shift(90) });
    expect(agreeOrDoubt({ fromReference: shift(1), accepted: true }, undefined, PLOT, DIAGONAL)).toMatchObject({ verdict: 'one', fromReference: shift(1) });
    expect(agreeOrDoubt({ fromReference: shift(1), accepted: false }, undefined, PLOT, DIAGONAL).verdict).toBe('doubt');
  });

  it('catches a chain that drifts by 0.3 % a photo at the fourth', () => {
    let chained: Homography = IDENTITY;
    const verdicts = [1, 2, 3, 4].map(() => {
      chained = composeHomographies(shift(0.003 * DIAGONAL), chained);
      return agreeOrDoubt({ fromReference: IDENTITY, accepted: true }, { fromReference: chained, accepted: true }, PLOT, DIAGONAL).verdict;
    });
    expect(verdicts).toEqual(['agree', 'agree', 'agree', 'doubt']);
  });
});
