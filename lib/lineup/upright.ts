import 'server-only';
import type { Posed } from './camera-move';
import type { KnownNormal } from './ground';
import { halve, type View } from './views';

/** Directions of down that are tried: pitch and roll of the camera, radians. */
const PITCH = { least: -0.3, most: 0.8, step: 0.02 } as const;
const ROLL = { least: -0.14, most: 0.14, step: 0.02 } as const;
/** An edge votes for a direction when it leans less than this off it, radians. */
const LEAN = 0.035;
/** Only edges this near upright in the photo are asked. */
const NEAR_UPRIGHT = 0.45;
/** The strongest edges asked. */
const MOST = 4000;
/** Height of the peak over the other directions, in their standard deviations, from which it counts. */
const CLEAR = 2.2;
/** How far a clear peak may be off, radians. */
const DOUBT = 0.07;

/**
 * Which way is down in a photo, from what stands upright in it: walls, posts, trunks, windows. Their edges, drawn on,
 * meet in one point below; each strong edge of the photo votes for the cameras' pitch and roll that would make it
 * upright. Undefined where no direction stands out, as on open lawn.
 * @param focal focal length over the long side
 */
export function uprightOf(view: View, focal: number): KnownNormal | undefined {
  const small = view.width > 640 ? halve(view) : view;
  const edges = strongEdges(small);
  if (edges.count < 200) return undefined;
  const { width: w, height: h } = small;
  const f = focal * Math.max(w, h);
  const rolls = steps(ROLL);
  const pitches = steps(PITCH);
  const votes = new Float64Array(rolls.length * pitches.length);
  pitches.forEach((pitch, i) => {
    rolls.forEach((roll, j) => {
      const [nx, ny, nz] = [Math.sin(roll) * Math.cos(pitch), Math.cos(roll) * Math.cos(pitch), Math.sin(pitch)];
      let sum = 0;
      for (let k = 0; k < edges.count; k++) {
        // The upright through a place runs towards the point where all of them meet.
        const dx = nx - ((edges.x[k]! - (w - 1) / 2) / f) * nz;
        const dy = ny - ((edges.y[k]! - (h - 1) / 2) / f) * nz;
        const lean = Math.abs((dx * edges.dy[k]! - dy * edges.dx[k]!) / Math.hypot(dx, dy));
        if (lean < LEAN) sum += 1 - lean / LEAN;
      }
      votes[i * rolls.length + j] = sum;
    });
  });
  let best = 0;
  for (let k = 1; k < votes.length; k++) if (votes[k]! > votes[best]!) best = k;
  const mean = votes.reduce((sum, v) => sum + v, 0) / votes.length;
  const sd = Math.sqrt(votes.reduce((sum, v) => sum + (v - mean) ** 2, 0) / votes.length);
  if (!(votes[best]! - mean > CLEAR * sd)) return undefined;
  // The mean over the top of the peak, and how broad that is.
  let [sum, pitch, roll, wide] = [0, 0, 0, 0];
  const top = 0.8 * votes[best]! + 0.2 * mean;
  votes.forEach((v, k) => {
    if (v < top) return;
    const weight = v - top;
    sum += weight;
    pitch += weight * pitches[Math.floor(k / rolls.length)]!;
    roll += weight * rolls[k % rolls.length]!;
  });
  pitch /= sum;
  votes.forEach((v, k) => {
    if (v >= top) wide += ((v - top) / sum) * (pitches[Math.floor(k / rolls.length)]! - pitch) ** 2;
  });
  return { pitch, roll: roll / sum, sd: Math.hypot(DOUBT, Math.sqrt(wide)), sure: false };
}

function steps({ least, most, step }: { least: number; most: number; step: number }): number[] {
  return Array.from({ length: Math.round((most - least) / step) + 1 }, (_, i) => least + i * step);
}

interface Edges {
  readonly count: number;
  readonly x: number[];
  readonly y: number[];
  /** Direction along the edge, unit length. */
  readonly dx: number[];
  readonly dy: number[];
}

/** The strongest near-upright edges of the photo's logarithmic lightness that are straight over a few pixels. */
function strongEdges({ width: w, height: h, rgb: [r, g, b], seen }: View): Edges {
  const light = new Float32Array(w * h);
  for (let o = 0; o < light.length; o++) light[o] = Math.log(0.2126 * r[o]! + 0.7152 * g[o]! + 0.0722 * b[o]! + 0.01);
  const found: { x: number; y: number; dx: number; dy: number; size: number }[] = [];
  for (let y = 3; y < h - 3; y++) {
    for (let x = 3; x < w - 3; x++) {
      const o = y * w + x;
      if (seen[o] === 0) continue;
      // The structure of a small upright window: its gradients must agree.
      let [xx, xy, yy] = [0, 0, 0];
      const gx0 = light[o + 1]! - light[o - 1]!;
      const gy0 = light[o + w]! - light[o - w]!;
      if (Math.abs(gx0) < 2 * Math.abs(gy0) || Math.abs(gx0) < 0.12) continue;
      if (Math.abs(gx0) < Math.abs(light[o + 2]! - light[o]!) || Math.abs(gx0) <= Math.abs(light[o]! - light[o - 2]!))
        continue;
      for (let v = -2; v <= 2; v++) {
        for (let u = -1; u <= 1; u++) {
          const q = o + v * w + u;
          const gx = light[q + 1]! - light[q - 1]!;
          const gy = light[q + w]! - light[q - w]!;
          xx += gx * gx;
          xy += gx * gy;
          yy += gy * gy;
        }
      }
      const spread = Math.hypot(xx - yy, 2 * xy);
      if (spread < 0.8 * (xx + yy)) continue;
      const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
      if (Math.abs(angle) > NEAR_UPRIGHT) continue;
      found.push({ x, y, dx: -Math.sin(angle), dy: Math.cos(angle), size: spread });
    }
  }
  found.sort((p, q) => q.size - p.size);
  const kept = found.slice(0, MOST);
  return {
    count: kept.length,
    x: kept.map((e) => e.x),
    y: kept.map((e) => e.y),
    dx: kept.map((e) => e.dx),
    dy: kept.map((e) => e.dy),
  };
}

/**
 * The same from both photos: the later one's down carried into the earlier one's frame by the camera's turn. Only the
 * pitch is worth keeping: a photo's few uprights say little of its roll, which is small.
 */
export function uprightOfPair(before: View, after: View, move: Posed): KnownNormal | undefined {
  const found: { pitch: number; sd: number }[] = [];
  const own = uprightOf(before, move.focal[0]);
  if (own) found.push(own);
  const other = uprightOf(after, move.focal[1]);
  if (other) {
    const n = [
      Math.sin(other.roll) * Math.cos(other.pitch),
      Math.cos(other.roll) * Math.cos(other.pitch),
      Math.sin(other.pitch),
    ];
    const r = move.rotation;
    const ahead = r[2] * n[0]! + r[5] * n[1]! + r[8] * n[2]!;
    found.push({ pitch: Math.asin(Math.max(-1, Math.min(1, ahead))), sd: other.sd });
  }
  if (found.length === 0) return undefined;
  const weight = found.reduce((sum, f) => sum + 1 / f.sd ** 2, 0);
  const pitch = found.reduce((sum, f) => sum + f.pitch / f.sd ** 2, 0) / weight;
  return {
    pitch,
    roll: 0,
    sd: Math.max(DOUBT, Math.sqrt(1 / weight), ...found.map((f) => Math.abs(f.pitch - pitch))),
    sure: false,
  };
}
