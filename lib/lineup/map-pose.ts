import 'server-only';
import { solveRows } from '@/lib/photo/ground/linear-solve';
import type { Point } from '@/lib/photo/raster/pixels';
import type { CameraMove } from './camera-move';
import { turned } from './epipolar';
import type { Features } from './features';
import type { Matches } from './match-features';
import type { LastingPoint, MapPose, PlaceMap } from './place-map';

/** A position in a photo is known to this share of its long side: 1.2 pixels of 1200. */
export const SIGMA = 1.2 / 1200;

interface View {
  readonly long: number;
  readonly cx: number;
  readonly cy: number;
}

export const viewOf = ({ width, height }: { readonly width: number; readonly height: number }): View => ({
  long: Math.max(width, height),
  cx: (width - 1) / 2,
  cy: (height - 1) / 2,
});

/** Where a pose shows a ray of the reference photo (shares of the long side) at a nearness, pixels. */
export function project(pose: MapPose, focal: number, x: number, y: number, nearness: number): [number, number] {
  const r = pose.rotation;
  const [a, b] = [x / focal, y / focal];
  const X = r[0]! * a + r[1]! * b + r[2]! + nearness * pose.move[0];
  const Y = r[3]! * a + r[4]! * b + r[5]! + nearness * pose.move[1];
  const Z = r[6]! * a + r[7]! * b + r[8]! + nearness * pose.move[2];
  const view = viewOf(pose);
  return [view.cx + (view.long * pose.focal * X) / Z, view.cy + (view.long * pose.focal * Y) / Z];
}

/** A place of the reference photo in shares of its long side about its middle. */
export const shares = (map: PlaceMap, [x, y]: Point): [number, number] => {
  const view = viewOf(map);
  return [(x - view.cx) / view.long, (y - view.cy) / view.long];
};

/**
 * The pose of a photo by the map's points: its turn and its move, in the map's own unit, from the points whose nearness
 * is known. Starts from the camera's move between reference and photo, and is refined by Gauss-Newton on the points
 * that agreed with it, each weighed by how well its nearness is known; outliers lose weight (Huber).
 * @returns null when too few points with known nearness were seen: then only the direction of the move is known
 */
export function poseByMap(
  map: PlaceMap,
  photo: Features,
  matches: Matches,
  move: CameraMove,
): (MapPose & { readonly used: number; readonly sigmaMove: number }) | null {
  const seen = [...move.agreeing].flatMap((k) => {
    const point = map.points[matches.first[k]!]!;
    return point.information > 0
      ? [{ point, at: [photo.x[matches.second[k]!]!, photo.y[matches.second[k]!]!] as Point }]
      : [];
  });
  if (seen.length < 12) return null;
  const size = { width: photo.width, height: photo.height };
  let pose: MapPose = { rotation: [...move.rotation], move: [0, 0, 0], focal: move.focal[1], ...size };
  // The length of the move along its direction first: one number, by trying both ways and many lengths.
  const spread = Math.max(...seen.map(({ point }) => Math.abs(point.nearness)), 1e-6);
  let best = Infinity;
  for (let i = 0; i <= 60; i++) {
    const length = (i / 60) ** 2 * (0.6 / spread);
    const trial: MapPose = { ...pose, move: move.direction.map((d) => d * length) as [number, number, number] };
    const cost = costOf(map, trial, seen);
    if (cost < best) [best, pose] = [cost, trial];
  }
  const fitted = refinePose(map, pose, seen);
  return { ...fitted.pose, used: seen.length, sigmaMove: fitted.sigmaMove };
}

type Seen = { readonly point: LastingPoint; readonly at: Point };

/** Miss of a point, in pixels across and down, and its weight: one over the variance, that of its nearness included. */
function missOf(map: PlaceMap, pose: MapPose, { point, at }: Seen): { dx: number; dy: number; weight: number } {
  const [x, y] = shares(map, [point.x, point.y]);
  const [u, v] = project(pose, map.focal, x, y, point.nearness);
  const step = 1e-4;
  const [u2, v2] = project(pose, map.focal, x, y, point.nearness + step);
  const sigmaNear = Math.hypot(u2 - u, v2 - v) / step / Math.sqrt(point.information);
  const sigma = Math.hypot(SIGMA * Math.max(pose.width, pose.height), sigmaNear);
  return { dx: at[0] - u, dy: at[1] - v, weight: 1 / sigma ** 2 };
}

/** Misses over this many standard deviations count less and less (Huber 1964). */
const HUBER = 1.8;

function costOf(map: PlaceMap, pose: MapPose, seen: readonly Seen[]): number {
  return seen.reduce((sum, one) => {
    const { dx, dy, weight } = missOf(map, pose, one);
    const r = Math.hypot(dx, dy) * Math.sqrt(weight);
    return sum + (r <= HUBER ? r * r : HUBER * (2 * r - HUBER));
  }, 0);
}

const stepped = (pose: MapPose, d: ArrayLike<number>): MapPose => ({
  ...pose,
  rotation: [...turned(Float64Array.from(pose.rotation), d[0]!, d[1]!, d[2]!)],
  move: [pose.move[0] + d[3]!, pose.move[1] + d[4]!, pose.move[2] + d[5]!],
  focal: pose.focal * Math.exp(d[6]!),
});

/** Information on the logarithm of the focal length before anything was seen: 4 %. */
const FOCAL_INFORMATION = 1 / 0.04 ** 2;

function refinePose(map: PlaceMap, start: MapPose, seen: readonly Seen[]): { pose: MapPose; sigmaMove: number } {
  let pose = start;
  let cost = costOf(map, pose, seen);
  let information: Float64Array[] = [];
  const scale = 1e-5;
  for (let round = 0; round < 20; round++) {
    information = Array.from({ length: 7 }, (_, i) =>
      Float64Array.from({ length: 7 }, (_, j) => (i === j ? (i === 6 ? FOCAL_INFORMATION : 1e-6) : 0)),
    );
    const pull = new Float64Array(7);
    pull[6] = -FOCAL_INFORMATION * Math.log(pose.focal / start.focal);
    const nudged = Array.from({ length: 7 }, (_, i) =>
      stepped(
        pose,
        Array.from({ length: 7 }, (_, j) => (i === j ? scale : 0)),
      ),
    );
    for (const one of seen) {
      const here = missOf(map, pose, one);
      const r = Math.hypot(here.dx, here.dy) * Math.sqrt(here.weight);
      const weight = here.weight * (r <= HUBER ? 1 : HUBER / r);
      const slopes = nudged.map((other) => {
        const there = missOf(map, other, one);
        return [(here.dx - there.dx) / scale, (here.dy - there.dy) / scale] as const;
      });
      for (let i = 0; i < 7; i++) {
        pull[i]! += weight * (slopes[i]![0] * here.dx + slopes[i]![1] * here.dy);
        for (let j = 0; j < 7; j++)
          information[i]![j]! += weight * (slopes[i]![0] * slopes[j]![0] + slopes[i]![1] * slopes[j]![1]);
      }
    }
    const step = solveRows(information.map((row, i) => Float64Array.of(...row, pull[i]!)));
    if (!step.every(Number.isFinite)) break;
    let share = 1;
    let next = stepped(pose, step);
    let nextCost = costOf(map, next, seen);
    while (nextCost > cost && share > 1 / 64) {
      share /= 2;
      next = stepped(
        pose,
        step.map((value) => value * share),
      );
      nextCost = costOf(map, next, seen);
    }
    if (nextCost >= cost) break;
    const gained = cost - nextCost;
    [pose, cost] = [next, nextCost];
    if (gained < 1e-6 * cost) break;
  }
  const columns = [3, 4, 5].map((k) =>
    solveRows(information.map((row, i) => Float64Array.of(...row, i === k ? 1 : 0))),
  );
  return { pose, sigmaMove: Math.sqrt(columns.reduce((sum, column, i) => sum + Math.max(0, column[3 + i]!), 0)) };
}
