import type { Point } from './pixels';

/** Four corners in the order that whoever asks for them names. */
export type Quad = readonly [Point, Point, Point, Point];

const isPoint = (value: unknown): value is Point =>
  Array.isArray(value) &&
  value.length === 2 &&
  value.every((part) => typeof part === 'number' && Number.isFinite(part));

/** Points as a row keeps them, [[x, y], …], for what came as anything. @throws RangeError where one is no point */
export function pointsOf(value: unknown): Point[] {
  if (!Array.isArray(value)) throw new RangeError('points: expected a list of [x, y], got something else');
  const wrong = value.findIndex((one) => !isPoint(one));
  if (wrong >= 0)
    throw new RangeError(`points: expected [x, y] in place ${wrong + 1}, got ${JSON.stringify(value[wrong])}`);
  return value as Point[];
}

/** Four points as corners. @throws RangeError for more or fewer */
export function quadOf(points: readonly Point[]): Quad {
  const [a, b, c, d] = points;
  if (points.length !== 4 || a === undefined || b === undefined || c === undefined || d === undefined)
    throw new RangeError(`corners: expected 4 points, got ${points.length}`);
  return [a, b, c, d];
}
