import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { decodePhoto } from '../../lib/darkroom/decode';
import { comparePair } from '../../lib/photo/compare-pair';
import type { Polygon } from '../../lib/photo/raster/pixels';

/** Rendered pairs with known truth, beside the project when somebody has them; without them these tests are skipped. */
const folder = path.resolve(import.meta.dirname, '../../../shared/scenes');
const there = existsSync(folder);

interface Truth {
  strips: {
    id: string;
    role: string;
    polygonBefore: Polygon;
    polygonAfter: Polygon;
    groundMetres: Polygon;
    dgciChangeMinusCheckChange: number;
  }[];
  patches: { photo: string; kind: string; strip: string; new: boolean }[];
  grey: Record<string, { corners: Polygon } | undefined>;
  chart: Record<string, { corners: Polygon } | undefined>;
}

async function compared(scene: string) {
  const truth = JSON.parse(readFileSync(path.join(folder, scene, 'truth.json'), 'utf8')) as Truth;
  const [before, after] = await Promise.all(
    ['before', 'after'].map(async (when) => (await decodePhoto(path.join(folder, scene, `${when}.jpg`))).pixels),
  );
  const board = ({ before: b, after: a }: Truth['grey']) => ({
    ...(b ? { before: b.corners } : {}),
    ...(a ? { after: a.corners } : {}),
  });
  const plots = truth.strips.map((s) => ({
    id: s.id,
    check: s.role === 'check',
    cornersBefore: s.polygonBefore,
    cornersAfter: s.polygonAfter,
    groundMetres: s.groundMetres,
  }));
  return {
    truth,
    result: comparePair({
      before: before!,
      after: after!,
      plots,
      greyCard: board(truth.grey),
      chart: board(truth.chart),
    }),
  };
}

describe.skipIf(!there)('rendered pairs, corners given', () => {
  test.each(['s06', 's13'])(
    '%s: each new mark found with its kind and no other, change within 0.006 of the truth',
    { timeout: 60_000 },
    async (scene) => {
      const { truth, result } = await compared(scene);
      const wanted = truth.patches.filter((p) => p.photo === 'after' && p.new).map((p) => `${p.strip} ${p.kind}`);
      expect(
        result.marks
          .filter((m) => m.isNew === true && m.kind !== 'other')
          .map((m) => `${m.plotId} ${m.kind}`)
          .sort(),
      ).toEqual(wanted.sort());
      for (const { id, change } of result.changes) {
        if (change === null) continue;
        const strip = truth.strips.find((s) => s.id === id)!;
        expect(Math.abs(change.difference - strip.dgciChangeMinusCheckChange)).toBeLessThan(0.006);
      }
    },
  );

  test(
    's07: a hard shadow without common light is refused, and so are boards in the shade',
    { timeout: 60_000 },
    async () => {
      const { result } = await compared('s07');
      expect(result.changes.filter((c) => c.refused !== null).map((c) => c.id)).toEqual(['B', 'C']);
      expect(result.corrections.refusals).toEqual([
        expect.stringContaining('other light'),
        expect.stringContaining('other light'),
      ]);
      expect(result.marks).toEqual([]);
    },
  );
});
