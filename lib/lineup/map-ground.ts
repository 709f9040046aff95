import 'server-only';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import { solveRows } from '@/lib/photo/ground/linear-solve';
import type { Point } from '@/lib/photo/raster/pixels';
import type { CameraMove } from './camera-move';
import { project, shares, SIGMA, viewOf } from './map-pose';
import type { Ground, MapPose, PlaceMap } from './place-map';

/** The ground's map from the reference photo to a photo of this pose, pixels; null while the map knows no ground. */
export function groundBy(map: PlaceMap, pose: MapPose): Homography | null {
  if (!map.ground) return null;
  const { plane } = map.ground;
  const view = viewOf(map);
  const corners: Point[] = [
    [0, 0.35],
    [1, 0.35],
    [1, 1],
    [0, 1],
  ].map(([u, v]) => [u! * (map.width - 1), v! * (map.height - 1)]);
  const r = pose.rotation;
  const f = map.focal;
  const after = viewOf(pose);
  // H = K' (R + t n') K^-1, with n' the plane's nearness as a linear form of the ray.
  const rows = [0, 1, 2].map((i) => {
    const [m0, m1, m2] = [
      r[3 * i]! / f + pose.move[i]! * plane[0],
      r[3 * i + 1]! / f + pose.move[i]! * plane[1],
      r[3 * i + 2]! + pose.move[i]! * plane[2],
    ];
    // x = (px - cx) / long
    return [m0 / view.long, m1 / view.long, m2 - (m0 * view.cx + m1 * view.cy) / view.long];
  }) as [number[], number[], number[]];
  const k = after.long * pose.focal;
  const out = [0, 1, 2].map((c) => [
    k * rows[0][c]! + after.cx * rows[2][c]!,
    k * rows[1][c]! + after.cy * rows[2][c]!,
    rows[2][c]!,
  ]);
  const h = [
    out[0]![0]!,
    out[1]![0]!,
    out[2]![0]!,
    out[0]![1]!,
    out[1]![1]!,
    out[2]![1]!,
    out[0]![2]!,
    out[1]![2]!,
    out[2]![2]!,
  ].map((value) => value / out[2]![2]!) as unknown as Homography;
  return corners.every((corner) => applyHomography(h, corner).every(Number.isFinite)) ? h : null;
}

/**
 * How far off, pixels of a photo of this pose, what is known of the ground may put it at the worst of some places of
 * the reference photo: one standard deviation.
 */
export function doubtOfGround(map: PlaceMap, pose: MapPose, places: readonly Point[]): number {
  const { ground } = map;
  if (!ground) return Infinity;
  return Math.max(
    ...places.map((place) => {
      const [x, y] = shares(map, place);
      const form = [x, y, 1];
      const solved = solveRows(ground.information.map((row, i) => Float64Array.of(row[0], row[1], row[2], form[i]!)));
      const variance = form.reduce((sum, value, i) => sum + value * solved[i]!, 0);
      const nearness = form.reduce((sum, value, i) => sum + value * ground.plane[i]!, 0);
      const sd = Number.isFinite(variance) ? Math.sqrt(Math.max(0, variance)) : Infinity;
      const [a, b] = [project(pose, map.focal, x, y, nearness), project(pose, map.focal, x, y, nearness + sd)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]);
    }),
  );
}

/**
 * The pose of a photo whose ground is known, because its outlines were accepted: the move's turn and direction from the
 * photos, its length from the ground. While the map knows no ground the length is taken as such that the ground's
 * vector has length 1.
 * @param toPhoto the ground's map from the reference photo to this photo, pixels
 * @returns the pose and the ground by this photo alone, with the information this photo gives on it; null when the
 *   camera hardly moved
 */
export function poseByGround(
  map: PlaceMap,
  photo: { readonly width: number; readonly height: number },
  move: CameraMove,
  toPhoto: Homography,
  places: readonly Point[],
): { pose: MapPose; ground: Ground } | null {
  const still: MapPose = {
    rotation: [...move.rotation],
    move: [0, 0, 0],
    focal: move.focal[1],
    width: photo.width,
    height: photo.height,
  };
  const unit: MapPose = { ...still, move: [...move.direction] };
  // With the move's length set to 1: nearness of each place from where the ground's map takes it, then the plane
  // through them.
  const rows = places.flatMap((place) => {
    const [x, y] = shares(map, place);
    const { nearness, information } = nearnessOf(map, unit, [x, y], applyHomography(toPhoto, place));
    return Number.isFinite(nearness) ? [{ x, y, nearness, information }] : [];
  });
  if (rows.length < 3) return null;
  const normal = [0, 1, 2].map((i) => {
    const row = new Float64Array(4);
    for (const { x, y, nearness, information } of rows) {
      const form = [x, y, 1];
      for (let j = 0; j < 3; j++) row[j]! += information * form[i]! * form[j]!;
      row[3]! += information * form[i]! * nearness;
    }
    row[i]! += 1e-9;
    return row;
  });
  const [a, b, c] = solveRows(normal.map((row) => row.slice())) as unknown as [number, number, number];
  const length = Math.hypot(a, b, c);
  // Ground lies below: nearer the camera towards the photo's lower edge, and the camera moved far enough to tell how it
  // lies.
  const variance = [0, 1, 2].reduce(
    (sum, k) =>
      sum + solveRows(normal.map((row, i) => Float64Array.of(row[0]!, row[1]!, row[2]!, i === k ? 1 : 0)))[k]!,
    0,
  );
  if (!Number.isFinite(length) || !(Math.sqrt(variance) < GROUND_KNOWN * length) || b <= 0) return null;
  const information = normal.map(
    (row) => [row[0]! * length ** 2, row[1]! * length ** 2, row[2]! * length ** 2] as const,
  );
  return {
    pose: { ...still, move: unit.move.map((value) => value * length) as [number, number, number] },
    ground: { plane: [a / length, b / length, c / length], information },
  };
}

/** The ground's vector must be known to this share of its length before anything is measured in it. */
const GROUND_KNOWN = 0.05;

/**
 * Nearness of a ray of the reference photo from where a photo shows it: least squares along the line it moves on, one
 * Newton's method.
 */
export function nearnessOf(
  map: PlaceMap,
  pose: MapPose,
  [x, y]: readonly [number, number],
  at: Point,
): { nearness: number; information: number } {
  let nearness = 0;
  let information = 0;
  for (let round = 0; round < 8; round++) {
    const [u, v] = project(pose, map.focal, x, y, nearness);
    const step = 1e-5;
    const [u2, v2] = project(pose, map.focal, x, y, nearness + step);
    const [sx, sy] = [(u2 - u) / step, (v2 - v) / step];
    const slope = sx * sx + sy * sy;
    if (slope === 0) return { nearness: Number.NaN, information: 0 };
    nearness += (sx * (at[0] - u) + sy * (at[1] - v)) / slope;
    information = slope / (SIGMA * Math.max(pose.width, pose.height)) ** 2;
  }
  return { nearness, information };
}

/**
 * The ground by all photos so far: each counts by its information, so that a photo from nearly the same stand hardly
 * counts.
 */
export function joinGround(before: Ground | null, now: Ground): Ground {
  if (!before) return now;
  const information = before.information.map((row, i) =>
    [0, 1, 2].map((j) => row[j]! + now.information[i]![j]!),
  ) as unknown as Ground['information'];
  const pull = [0, 1, 2].map((i) =>
    [0, 1, 2].reduce(
      (sum, j) => sum + before.information[i]![j]! * before.plane[j]! + now.information[i]![j]! * now.plane[j]!,
      0,
    ),
  );
  const mean = solveRows(information.map((row, i) => Float64Array.of(...row, pull[i]!)));
  const length = Math.hypot(...mean);
  if (!Number.isFinite(length) || length === 0) return before;
  return { plane: [mean[0]! / length, mean[1]! / length, mean[2]! / length], information };
}
