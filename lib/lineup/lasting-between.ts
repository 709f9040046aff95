import 'server-only';
import { applyHomography, composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { findCameraMove, SURE } from './camera-move';
import { findFeatures } from './features';
import { lastingOf } from './ground';
import { matchFeatures } from './match-features';

/**
 * A lasting point stands for the place it lies within this far of, as a share of the first photo's diagonal: less than
 * a person's cut-out shows.
 */
const NEAR = 0.016;
/**
 * Points next to a place that are asked where it is now; two at least must say the same, since one may be another slat
 * of the same fence.
 */
const NEXT_TO = 6;
const AGREE = 2;
/** They say the same within this much, as a share of the diagonal. */
const TOGETHER = 0.006;

/**
 * What stands shows lasting points straight below a place at its own distance; on the ground what lies below is nearer
 * and so shifts more.
 */
const BELOW = { from: 0.03, to: 0.2, aside: 0.04, farther: 1.1, least: 2 } as const;

/**
 * Where places of one photo are seen in another, by the points that the camera's move found in both. Leaves, a moved
 * toy and bare turf have none near them; what lies up on a wall or a fence is left out, since it tells nothing of the
 * ground.
 * @returns for each place where it is in the second photo, pixels there, or null when nothing that lasts lies by it on
 *   the ground; null for all when the two photos may not show one place
 * @throws RangeError when a photo is under 64 pixels a side
 */
export function lastingBetween(first: Pixels, second: Pixels, places: readonly Point[]): (Point | null)[] | null {
  const [features, others] = [findFeatures(first), findFeatures(second)];
  const matches = matchFeatures(features, others);
  const move = findCameraMove(features, others, matches);
  if (!move || move.surprise < SURE) return null;
  const points = lastingOf(move, features, others, matches);
  const diagonal = Math.hypot(first.width, first.height);
  // The turn alone, as of something endlessly far: what is left between neighbours is small and smooth.
  const far = turnOf(move, first, second);
  const shiftOf = (k: number): Point => {
    const [fx, fy] = applyHomography(far, [points.x[k]!, points.y[k]!]);
    return [points.u[k]! - fx, points.v[k]! - fy];
  };
  const all = Array.from({ length: points.count }, (_, k) => shiftOf(k));
  const standsUp = (x: number, y: number, size: number): boolean => {
    const below = all.filter((shift, k) => {
      const [dx, dy] = [(points.x[k]! - x) / first.width, (points.y[k]! - y) / first.height];
      return (
        Math.abs(dx) < BELOW.aside && dy > BELOW.from && dy < BELOW.to && Math.hypot(...shift) < BELOW.farther * size
      );
    });
    return below.length >= BELOW.least;
  };
  return places.map(([x, y]) => {
    const near = Array.from({ length: points.count }, (_, k) => ({
      k,
      distance: Math.hypot(points.x[k]! - x, points.y[k]! - y),
    }))
      .filter(({ distance }) => distance <= NEAR * diagonal)
      .sort((a, b) => a.distance - b.distance)
      .slice(0, NEXT_TO);
    const shifts = near.map(({ k }) => all[k]!);
    const sameAs = ([sx, sy]: Point): Point[] =>
      shifts.filter(([u, v]) => Math.hypot(u - sx, v - sy) <= TOGETHER * diagonal);
    const agreeing = shifts
      .map(sameAs)
      .reduce<Point[]>((best, group) => (group.length > best.length ? group : best), []);
    if (agreeing.length < AGREE) return null;
    const [fx, fy] = applyHomography(far, [x, y]);
    const mean = (axis: 0 | 1) => agreeing.reduce((sum, shift) => sum + shift[axis], 0) / agreeing.length;
    const shift: Point = [mean(0), mean(1)];
    return standsUp(x, y, Math.hypot(...shift)) ? null : [fx + shift[0], fy + shift[1]];
  });
}

/** Where the camera's turn alone takes a photo's pixels. */
function turnOf(
  { rotation, focal }: { readonly rotation: readonly number[]; readonly focal: readonly [number, number] },
  first: Pixels,
  second: Pixels,
): Homography {
  const [fa, fb] = [focal[0] * Math.max(first.width, first.height), focal[1] * Math.max(second.width, second.height)];
  const [ax, ay, bx, by] = [
    (first.width - 1) / 2,
    (first.height - 1) / 2,
    (second.width - 1) / 2,
    (second.height - 1) / 2,
  ];
  return composeHomographies(
    [fb, 0, bx, 0, fb, by, 0, 0, 1],
    composeHomographies(rotation as unknown as Homography, [1 / fa, 0, -ax / fa, 0, 1 / fa, -ay / fa, 0, 0, 1]),
  );
}
