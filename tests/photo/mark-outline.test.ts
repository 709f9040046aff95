import fc from 'fast-check';
import { expect, test } from 'vitest';
import { components } from '../../lib/photo/raster/components';
import { outlineOf, simplified } from '../../lib/photo/marks/outline';
import { polygonArea } from '../../lib/photo/raster/region';

const cellsOf = (rows: readonly string[]): Int32Array =>
  Int32Array.from(rows.flatMap((row, y) => [...row].flatMap((cell, x) => (cell === '#' ? [y * row.length + x] : []))));

test('the outline of a rectangle of cells goes round it once: its four corners', () => {
  const outline = outlineOf(cellsOf(['......', '.####.', '.####.', '.####.', '......']), 6, 5);
  expect(outline).toEqual([
    [0.5, 0.5],
    [4.5, 0.5],
    [4.5, 3.5],
    [0.5, 3.5],
  ]);
});

test('cells that touch at a corner only are gone round as one', () => {
  expect(polygonArea(outlineOf(cellsOf(['##...', '##...', '..##.', '..##.']), 5, 4))).toBe(8);
});

test('the outline of any piece without holes encloses as much as its cells, and simplified nearly so', () => {
  const [width, height] = [14, 11];
  fc.assert(
    fc.property(fc.array(fc.boolean(), { minLength: width * height, maxLength: width * height }), (drawn) => {
      const outside = components(
        Uint8Array.from(padded(drawn, width, height), (v) => 1 - v),
        width + 2,
        height + 2,
      )[0]!;
      const filled = new Uint8Array((width + 2) * (height + 2)).fill(1);
      for (const i of outside) filled[i] = 0;
      for (const cells of components(filled, width + 2, height + 2)) {
        const outline = outlineOf(cells, width + 2, height + 2);
        // Corner contacts of the outside leave no hole, as `outside` passes through them; the pieces' own do, so allow
        // those.
        expect(polygonArea(outline)).toBeGreaterThanOrEqual(cells.length);
        expect(outline.length).toBeLessThanOrEqual(4 * cells.length);
        expect(simplified(outline, 0.6).length).toBeLessThanOrEqual(outline.length);
      }
    }),
  );
});

function padded(drawn: readonly boolean[], width: number, height: number): Uint8Array {
  const out = new Uint8Array((width + 2) * (height + 2));
  drawn.forEach((v, i) => (out[(Math.floor(i / width) + 1) * (width + 2) + (i % width) + 1] = v ? 1 : 0));
  return out;
}
