import type { Point } from '@/lib/photo/raster/pixels';

/**
 * A pinhole camera over level ground. Ground coordinates in metres: x to the right, y away from the viewpoint, z up.
 * A bearing of 0 degrees looks along y; a positive roll turns the camera clockwise.
 */
export interface Pose {
  readonly xM: number;
  readonly yM: number;
  readonly heightM: number;
  readonly bearingDeg: number;
  /** How far the camera looks below the horizon. */
  readonly downDeg: number;
  readonly rollDeg: number;
  readonly focalPx: number;
}

export type Vector = readonly [x: number, y: number, z: number];

export interface Camera {
  readonly position: Vector;
  readonly focalPx: number;
  /** The direction of a pixel's ray, scaled so that its length along the optical axis is 1. */
  ray(u: number, v: number): Vector;
  /** Where a place appears, and how far along the optical axis it lies. */
  project(xM: number, yM: number, zM: number): { point: Point; depthM: number };
}

export function cameraAt(pose: Pose, widthPx: number, heightPx: number): Camera {
  const rad = Math.PI / 180;
  const [sinB, cosB] = [Math.sin(pose.bearingDeg * rad), Math.cos(pose.bearingDeg * rad)];
  const [sinD, cosD] = [Math.sin(pose.downDeg * rad), Math.cos(pose.downDeg * rad)];
  const [sinR, cosR] = [Math.sin(pose.rollDeg * rad), Math.cos(pose.rollDeg * rad)];
  const forward: Vector = [sinB * cosD, cosB * cosD, -sinD];
  const level: Vector = [cosB, -sinB, 0];
  const upright: Vector = [sinB * sinD, cosB * sinD, cosD];
  const right = blend(level, cosR, upright, -sinR);
  const up = blend(upright, cosR, level, sinR);
  const position: Vector = [pose.xM, pose.yM, pose.heightM];
  const [centreU, centreV] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  const f = pose.focalPx;
  return {
    position,
    focalPx: f,
    ray(u, v) {
      const a = (u - centreU) / f;
      const b = (centreV - v) / f;
      return [
        forward[0] + a * right[0] + b * up[0],
        forward[1] + a * right[1] + b * up[1],
        forward[2] + a * right[2] + b * up[2],
      ];
    },
    project(xM, yM, zM) {
      const d: Vector = [xM - position[0], yM - position[1], zM - position[2]];
      const depthM = dot(d, forward);
      return { point: [centreU + (f * dot(d, right)) / depthM, centreV - (f * dot(d, up)) / depthM], depthM };
    },
  };
}

function blend(a: Vector, s: number, b: Vector, t: number): Vector {
  return [a[0] * s + b[0] * t, a[1] * s + b[1] * t, a[2] * s + b[2] * t];
}

function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
