import { expect, test } from 'vitest';
import { matrix3Of, vector3Of } from '@/lib/colour/matrix';
import { pointsOf, quadOf } from '@/lib/photo/raster/points';

test('points out of a row are pairs of numbers, or it is said which one is not', () => {
  expect(pointsOf([])).toEqual([]);
  expect(pointsOf([[1, 2.5]])).toEqual([[1, 2.5]]);
  expect(() => pointsOf(null)).toThrow('points: expected a list of [x, y], got something else');
  expect(() => pointsOf([[1, 2], [3]])).toThrow('points: expected [x, y] in place 2, got [3]');
  expect(() => pointsOf([[1, '2']])).toThrow('in place 1, got [1,"2"]');
});

test('corners are four, a matrix nine numbers, a vector three', () => {
  const square = pointsOf([
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ]);
  expect(quadOf(square)).toEqual(square);
  expect(() => quadOf(square.slice(1))).toThrow('corners: expected 4 points, got 3');
  expect(() => quadOf([...square, [2, 2]])).toThrow('corners: expected 4 points, got 5');
  expect(matrix3Of([1, 2, 3, 4, 5, 6, 7, 8, 9])).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
  expect(() => matrix3Of([1, 2, 3])).toThrow('matrix: expected 9 numbers, got 3');
  expect(vector3Of([1, 2, 3])).toEqual([1, 2, 3]);
  expect(() => vector3Of([1, 2])).toThrow('vector: expected 3 numbers, got 2');
});
