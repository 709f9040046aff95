import { describe, expect, it } from 'vitest';
import { agreeOrDoubt, heldToPlace } from '@/lib/photo/ground/agree';
import { composeHomographies, IDENTITY, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';

const PLOT: Point[][] = [
  [
    [100, 100],
    [900, 100],
    [900, 700],
    [100, 700],
  ],
];
const DIAGONAL = 1250;
const shift = (x: number): Homography => [1, 0, x, 0, 1, 0, 0, 0, 1];

describe('agreeOrDoubt', () => {
  it('agrees when both ways end within the tolerance, and uses the direct one', () => {
    const found = agreeOrDoubt(
      { fromReference: shift(20), accepted: true },
      { fromReference: shift(26), accepted: true },
      PLOT,
      DIAGONAL,
    );
    expect(found).toEqual({ verdict: 'agree', fromReference: shift(20), gapPercent: 0.48 });
  });

  it('doubts when they differ by more', () => {
    const found = agreeOrDoubt(
      { fromReference: shift(20), accepted: true },
      { fromReference: shift(40), accepted: true },
      PLOT,
      DIAGONAL,
    );
    expect(found.verdict).toBe('doubt');
    expect(found.gapPercent).toBeCloseTo(1.6, 9);
  });

  it('follows the one accepted way, whichever it is', () => {
    expect(
      agreeOrDoubt(
        { fromReference: shift(1), accepted: false },
        { fromReference: shift(90), accepted: true },
        PLOT,
        DIAGONAL,
      ),
    ).toMatchObject({ verdict: 'one', fromReference: shift(90) });
    expect(agreeOrDoubt({ fromReference: shift(1), accepted: true }, undefined, PLOT, DIAGONAL)).toMatchObject({
      verdict: 'one',
      fromReference: shift(1),
    });
    expect(agreeOrDoubt({ fromReference: shift(1), accepted: false }, undefined, PLOT, DIAGONAL).verdict).toBe('doubt');
  });

  it('catches a chain that drifts by 0.3 % a photo at the fourth', () => {
    let chained: Homography = IDENTITY;
    const verdicts = [1, 2, 3, 4].map(() => {
      chained = composeHomographies(shift(0.003 * DIAGONAL), chained);
      return agreeOrDoubt(
        { fromReference: IDENTITY, accepted: true },
        { fromReference: chained, accepted: true },
        PLOT,
        DIAGONAL,
      ).verdict;
    });
    expect(verdicts).toEqual(['agree', 'agree', 'agree', 'doubt']);
  });
});

describe('heldToPlace', () => {
  const place = (x: number, doubtPercent = 0.2) => ({ fromReference: shift(x), doubtPercent });
  const way = (x: number, confidence: number) => ({ fromReference: shift(x), accepted: confidence >= 0.5, confidence });
  const held = (direct: ReturnType<typeof way>, byLast: ReturnType<typeof way>, by: ReturnType<typeof place> | null) =>
    heldToPlace(agreeOrDoubt(direct, byLast, PLOT, DIAGONAL), [direct, byLast], by, PLOT, DIAGONAL);

  it('doubts what was accepted when things round the lawn put the ground elsewhere', () => {
    expect(held(way(20, 0.8), way(21, 0.1), place(22)).verdict).toBe('one');
    expect(held(way(20, 0.8), way(21, 0.1), place(60)).verdict).toBe('doubt');
    expect(held(way(20, 0.8), way(21, 0.7), place(60)).verdict).toBe('doubt');
  });

  it('trusts a way that fell a little short when the map ends at the same place, and never one that is mere guesswork', () => {
    expect(held(way(20, 0.4), way(300, 0.1), place(23))).toMatchObject({ verdict: 'agree', fromReference: shift(20) });
    expect(held(way(20, 0.05), way(21, 0.1), place(20)).verdict).toBe('doubt');
    expect(held(way(20, 0.4), way(21, 0.4), place(40)).verdict).toBe('doubt');
  });

  it('says which of two accepted ways is right', () => {
    expect(held(way(20, 0.7), way(60, 0.9), place(22))).toMatchObject({ verdict: 'agree', fromReference: shift(20) });
    expect(held(way(20, 0.7), way(60, 0.9), place(100)).verdict).toBe('doubt');
  });

  it('leaves everything as it is where the map is vague or there is none', () => {
    expect(held(way(20, 0.8), way(21, 0.1), place(60, 0.6)).verdict).toBe('one');
    expect(held(way(20, 0.4), way(21, 0.4), null).verdict).toBe('doubt');
  });
});
