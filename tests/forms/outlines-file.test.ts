import { describe, expect, test } from 'vitest';
import { parseOutlinesFile, plotsToMeasure } from '@/lib/forms/outlines-file';

const corners = [
  [0, 0],
  [10, 0],
  [10, 10],
  [0, 10],
];

function sentenceFor(value: unknown): string {
  const result = parseOutlinesFile(typeof value === 'string' ? value : JSON.stringify(value));
  if (result.ok) throw new Error('expected a refusal');
  return result.sentence;
}

describe('an outlines file', () => {
  test('gives its plots, card and chart', () => {
    const result = parseOutlinesFile(
      JSON.stringify({
        plots: [{ id: 'A', check: true, corners, groundMetres: corners }],
        greyCard: { before: corners },
        chart: {},
      }),
    );
    expect(result.ok && plotsToMeasure(result.outlines)).toEqual([
      { id: 'A', polygon: corners, groundMetres: corners },
    ]);
  });

  // prettier-ignore
  test.each([
    ['text', 'plots: A', /Expected an outlines file in JSON, got text that isn't/],
    ['no plots', { plots: [] }, /plots: expected at least one plot/],
    ['three corners', { plots: [{ id: 'A', corners: corners.slice(1) }] }, /plots\.0\.corners: expected four corners/],
    ['a corner that is no pair', { plots: [{ id: 'A', corners: [[0], ...corners.slice(1)] }] }, /plots\.0\.corners\.0/],
    ['a plot twice', { plots: [{ id: 'A', corners }, { id: 'A', corners }] }, /got 'A' twice/],
    ['a key that isn’t known', { plots: [{ id: 'A', corners, colour: 'red' }] }, /plots\.0: expected nothing but id, check, corners, cornersAfter, groundMetres, got 'colour'\./],
  ])('with %s is refused in one sentence', (_, value, words) => expect(sentenceFor(value)).toMatch(words));
});
