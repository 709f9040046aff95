import { describe, expect, test } from 'vitest';
import { confounding, responseRows, type SprayedPlot } from '@/lib/trial/response-table';

const spray = (id: string, day: number, x: Record<string, number | null> = {}): SprayedPlot => ({
  spray: id,
  plot: 'A',
  day,
  x,
});
const reading = (id: string, day: number, response: number, photo = `p${day}`) => ({
  spray: id,
  plot: 'A',
  day,
  photo,
  response,
});

describe('response rows', () => {
  test('takes the nearest photo within tolerance, the earlier of two equally near', () => {
    const rows = responseRows(
      [spray('s1', 100)],
      [reading('s1', 102, 0.1), reading('s1', 104, 0.2), reading('s1', 109, 0.3), reading('s1', 118, 0.4)],
    );
    expect(rows.map((row) => [row.horizon, row.daysAfter, row.response])).toEqual([
      [3, 2, 0.1],
      [7, 9, 0.3],
    ]);
  });
  test('names other sprays between the spray and its photo', () => {
    const rows = responseRows([spray('s1', 100), spray('s2', 105)], [reading('s1', 103, 0.1), reading('s1', 107, 0.2)]);
    expect(rows.map((row) => row.alsoSprayed)).toEqual([[], ['s2']]);
  });
});

describe('confounding', () => {
  const rows = (xs: Record<string, number | null>[]) =>
    responseRows(
      xs.map((x, i) => spray(`s${i}`, 100 * i, x)),
      xs.map((_, i) => reading(`s${i}`, 100 * i + 7, 0.1 * i)),
    );
  test('names the pair that moved together, and always that a diary is no trial', () => {
    const got = confounding(
      rows(
        [1, 2, 3, 4, 5, 6].map((v, i) => ({ iron: v, nitrogen: 10 * v + (i % 2), carrier: [4, 9, 2, 8, 3, 7][i]! })),
      ),
      ['iron', 'nitrogen', 'carrier'],
    );
    expect(got.sentences[0]).toContain('not what caused what');
    expect(got.sentences[1]).toContain('iron and nitrogen moved together in these 6 sprays (r = 1.00)');
    expect(got.pairs).toHaveLength(1);
  });
  test('names an x that never changed and an x that mixes others', () => {
    const a = [1, 5, 2, 8, 3, 9, 4, 7];
    const b = [6, 2, 9, 1, 3, 8, 7, 5];
    const got = confounding(rows(a.map((v, i) => ({ a: v, b: b[i]!, sum: v + b[i]!, same: 3 }))), [
      'a',
      'b',
      'sum',
      'same',
    ]);
    expect(got.constant).toEqual(['same']);
    expect(got.vif['sum']).toBe(Infinity);
    expect(got.sentences.some((text) => text.includes('same was the same in all 8 sprays'))).toBe(true);
    expect(got.sentences.some((text) => text.includes('nearly a mixture of the others'))).toBe(true);
  });
  test('counts a spray once, leaves out sprays with an unknown x, and says when they are too few', () => {
    const got = confounding(rows([{ iron: 1 }, { iron: null }, { iron: 2 }]), ['iron']);
    expect(got.rowsUsed).toBe(2);
    expect(got.sentences.at(-1)).toBe('Only 2 sprays have all of iron: too few to tell what moves with what.');
  });
});
