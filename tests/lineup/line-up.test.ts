import { afterAll, describe, expect, it } from 'vitest';
import { lineUp, stopLineUp } from '@/lib/lineup/line-up';
import { IDENTITY, project } from '@/lib/photo/homography';
import { drawLawn } from './draw-lawn';

const lawn = { ground: 5, landmarks: true } as const;

describe('lineUp', () => {
  afterAll(stopLineUp);

  it('answers from its own thread, and passes an error on by its words', { timeout: 120_000 }, async () => {
    const before = drawLawn(480, 360, { ...lawn, blades: 1 }, IDENTITY);
    const after = drawLawn(480, 360, { ...lawn, blades: 2 }, [1, 0, 12, 0, 1, -6, 0, 0, 1]);
    const tiny = { ...before, width: 20, height: 20 };
    const answers = [lineUp({ before, after }), lineUp({ before: tiny, after })] as const;
    await expect(answers[1]).rejects.toThrow('registerPair: expected photos of at least 200 x 150 pixels, got 20 x 20');
    const [x, y] = project((await answers[0]).homography, [240, 180]);
    expect(Math.hypot(x - 252, y - 174)).toBeLessThan(2);
    expect(before.data.length).toBe(480 * 360 * 3);
  });

  it('gives up on an answer that takes too long, and starts afresh for the next', { timeout: 120_000 }, async () => {
    const before = drawLawn(480, 360, { ...lawn, blades: 1 }, IDENTITY);
    await expect(lineUp({ before, after: before }, 1)).rejects.toThrow('lineUp: expected an answer within 1 ms, got none');
    await expect(lineUp({ before, after: before })).resolves.toMatchObject({ status: expect.stringMatching(/^(ok|taps)$/) as string });
  });
});
