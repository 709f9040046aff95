import { describe, expect, it } from 'vitest';
import { LINEAR_OF_CODE } from '@/lib/colour/srgb';
import { compileKernel, KERNELS } from '@/lib/commands/proving/build-kernel.mjs';
import { fitOf, sampleBox } from '@/lib/lineup/ground-fit';
import { PLANES_SIMD } from '@/lib/lineup/planes-simd-bytes';
import { assemble, frame, roomFor } from '@/lib/lineup/refine';
import { lay } from '@/lib/lineup/planes-simd';
import { blur, makePlanes, makeView, type Planes } from '@/lib/lineup/views';
import { layPair } from '@/lib/lineup/warp';
import { layGround, makeSearch } from '@/lib/lineup/window-search';
import { applyHomography, type Homography } from '@/lib/photo/ground/homography';
import { seededRandom } from '@/lib/stats/random';

/** Noise, smooth over a few pixels, with a corner and some strewn pixels not seen. */
function drawn(width: number, height: number, seed: number): Planes {
  const random = seededRandom(seed);
  const phases = Array.from({ length: 36 }, () => 2 * Math.PI * random.next());
  const data = new Float32Array(4 * width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = 4 * (y * width + x);
      const seen = !(x > width - 6 && y > height - 5) && !(x === 11 && y % 9 === 4);
      for (let c = 0; c < 3; c++) {
        let v = 0.2 * random.next();
        for (let k = 0; k < 6; k++)
          v += Math.sin(
            (0.2 + 0.07 * k) * x * (k % 2 ? 1 : -1) +
              (0.5 - 0.06 * k) * y +
              phases[6 * c + k]! +
              (k > 3 ? phases[18 + 6 * c + k]! : 0),
          );
        data[at + c] = seen ? v : 0;
      }
      data[at + 3] = seen ? 1 : 0;
    }
  }
  return { width, height, scale: 1, data };
}

const value = (p: Planes, x: number, y: number, c: number): number => p.data[4 * (y * p.width + x) + c]!;
const isSeen = (p: Planes, x: number, y: number): boolean =>
  x >= 0 && y >= 0 && x < p.width && y < p.height && value(p, x, y, 3) === 1;

/** The later planes at a place, by the definition; null outside or beside a place not seen. */
function lookedUp(p: Planes, x: number, y: number): number[] | null {
  const [x0, y0] = [Math.floor(x), Math.floor(y)];
  if (
    ![
      [0, 0],
      [1, 0],
      [0, 1],
      [1, 1],
    ].every(([i, j]) => isSeen(p, x0 + i!, y0 + j!))
  )
    return null;
  const [u, v] = [x - x0, y - y0];
  return [0, 1, 2].map(
    (c) =>
      (1 - v) * ((1 - u) * value(p, x0, y0, c) + u * value(p, x0 + 1, y0, c)) +
      v * ((1 - u) * value(p, x0, y0 + 1, c) + u * value(p, x0 + 1, y0 + 1, c)),
  );
}

const MAP: Homography = [1.02, 0.03, -1.3, -0.02, 0.99, 1.7, 1e-4, -5e-5, 1];
const WEIGHTS = [1.5, 1, 1] as const;
const before = drawn(57, 41, 3);
const after = drawn(61, 44, 3);

describe('the SIMD kernel of planes', () => {
  it('is what its source compiles to', async () => expect(await compileKernel(KERNELS[2])).toBe(PLANES_SIMD), 60_000);

  it('looks the later photo up between its pixels, where all four are seen and the earlier place too', () => {
    const pair = layPair(before, after);
    pair.warp(MAP);
    const got = new Float32Array(pair.kernel.memory.buffer, pair.warped, before.data.length);
    let seen = 0;
    for (let y = 0; y < before.height; y++) {
      for (let x = 0; x < before.width; x++) {
        const [u, v] = applyHomography(MAP, [x, y]);
        const want = isSeen(before, x, y) ? lookedUp(after, u, v) : null;
        const at = 4 * (y * before.width + x);
        expect(got[at + 3]).toBe(want ? 1 : 0);
        for (let c = 0; c < 3; c++) expect(got[at + c]).toBeCloseTo(want?.[c] ?? 0, 4);
        if (want) seen++;
      }
    }
    expect(seen).toBeGreaterThan(1500);
  });

  it('correlates two copies as the formula says', () => {
    const pair = layPair(before, after);
    pair.warp(MAP);
    let [ab, aa, bb, both, all] = [0, 0, 0, 0, 0];
    for (let y = 0; y < before.height; y++) {
      for (let x = 0; x < before.width; x++) {
        if (!isSeen(before, x, y)) continue;
        all++;
        const there = lookedUp(after, ...applyHomography(MAP, [x, y]));
        if (!there) continue;
        both++;
        for (let c = 0; c < 3; c++) {
          ab += value(before, x, y, c) * there[c]!;
          aa += value(before, x, y, c) ** 2;
          bb += there[c]! ** 2;
        }
      }
    }
    const { correlation, overlap } = pair.correlate();
    expect(correlation).toBeCloseTo(ab / Math.sqrt(aa * bb), 5);
    expect(overlap).toBeCloseTo(both / all, 9);
  });

  it('builds the equations of a Gauss-Newton round as their sums over the pixels', () => {
    const block = 9;
    const pair = layPair(before, after, roomFor(before, block));
    pair.warp(MAP);
    const { width: w, height: h } = before;
    const t = (x: number, y: number): number[] | null =>
      isSeen(before, x, y) ? lookedUp(after, ...applyHomography(MAP, [x, y])) : null;
    const { cx, cy, unit } = frame(before);
    const normal = new Float64Array(64);
    const right = new Float64Array(8);
    for (let y = 1; y < h - 1; y++) {
      for (let x = 1; x < w - 1; x++) {
        const [o, l, r, u, d] = [t(x, y), t(x - 1, y), t(x + 1, y), t(x, y - 1), t(x, y + 1)];
        if (!o || !l || !r || !u || !d) continue;
        const [px, py] = [(x - cx) / unit, (y - cy) / unit];
        const jx = [px, py, 1, 0, 0, 0, -px * px, -px * py];
        const jy = [0, 0, 0, px, py, 1, -px * py, -py * py];
        for (let c = 0; c < 3; c++) {
          let [sum, n] = [0, 0];
          for (let v = block * Math.floor(y / block); v < Math.min(h, block * (Math.floor(y / block) + 1)); v++) {
            for (let q = block * Math.floor(x / block); q < Math.min(w, block * (Math.floor(x / block) + 1)); q++) {
              const there = t(q, v);
              if (there) [sum, n] = [sum + Math.abs(value(before, q, v, c) - there[c]!), n + 1];
            }
          }
          const precision = 1 / Math.max(0.25, (1.2533 * sum) / n) ** 2;
          const e = value(before, x, y, c) - o[c]!;
          const weight = precision / (1 + (e * e * precision) / 6);
          const gx = (value(before, x + 1, y, c) - value(before, x - 1, y, c) + r[c]! - l[c]!) / 4;
          const gy = (value(before, x, y + 1, c) - value(before, x, y - 1, c) + d[c]! - u[c]!) / 4;
          for (let p = 0; p < 8; p++) {
            const g = unit * (gx * jx[p]! + gy * jy[p]!);
            right[p]! += weight * g * e;
            for (let q = 0; q < 8; q++) normal[8 * p + q]! += weight * g * unit * (gx * jx[q]! + gy * jy[q]!);
          }
        }
      }
    }
    const got = assemble(pair, before, block);
    const size = Math.max(...normal);
    for (let i = 0; i < 64; i++) expect(got.normal[i]! / size).toBeCloseTo(normal[i]! / size, 5);
    const most = Math.max(...right.map(Math.abs));
    for (let i = 0; i < 8; i++) expect(got.right[i]! / most).toBeCloseTo(right[i]! / most, 4);
  });

  it('finds each window of the earlier photo as well as its every second pixel says, whole and cut off', () => {
    const [half, reach, pad] = [7, 3, 12];
    for (const cutOff of [false, true]) {
      const search = makeSearch(layGround(before, after, MAP, pad), half, reach, cutOff, -1);
      let asked = 0;
      for (const [x, y] of [
        [20, 18],
        [30, 21],
        [14, 20],
        [27, 15],
        [33, 24],
        [48, 31],
        [9, 9],
      ] as const) {
        const found = search(x, y);
        if (!found) continue;
        asked++;
        for (let dy = -reach; dy <= reach; dy++) {
          for (let dx = -reach; dx <= reach; dx++) {
            const values: [number[], number[]][] = [];
            let [whole, ownSeen] = [true, 0];
            for (let j = -half; j <= half; j++) {
              for (let i = -half; i <= half; i++) {
                const own = isSeen(before, x + i, y + j);
                const there = lookedUp(after, ...applyHomography(MAP, [x + i + dx, y + j + dy]));
                ownSeen += own ? 1 : 0;
                if (!own || !there) whole = false;
                if ((i + half) % 2 === 0 && (j + half) % 2 === 0 && own && there)
                  values.push([[0, 1, 2].map((c) => value(before, x + i, y + j, c)), there]);
              }
            }
            if (!whole) continue;
            // Means and spread of the later window are taken over all its pixels, the products over every second.
            const got = found.surface[(dy + reach) * (2 * reach + 1) + dx + reach]!;
            const mean = [0, 1, 2].map((c) => values.reduce((sum, [a]) => sum + a[c]!, 0) / values.length);
            let [ab, aa, bb] = [0, 0, 0];
            for (const [a, b] of values)
              for (let c = 0; c < 3; c++)
                [ab, aa] = [ab + WEIGHTS[c]! * (a[c]! - mean[c]!) * b[c]!, aa + WEIGHTS[c]! * (a[c]! - mean[c]!) ** 2];
            const all: number[][] = [];
            for (let j = -half; j <= half; j++)
              for (let i = -half; i <= half; i++)
                all.push(lookedUp(after, ...applyHomography(MAP, [x + i + dx, y + j + dy]))!);
            for (let c = 0; c < 3; c++) {
              const middle = all.reduce((sum, v) => sum + v[c]!, 0) / all.length;
              bb += WEIGHTS[c]! * all.reduce((sum, v) => sum + (v[c]! - middle) ** 2, 0);
            }
            const want = ab / Math.sqrt(aa * bb * (values.length / (2 * half + 1) ** 2));
            // Near a place not seen the cut-off search compares the thinned pixels alone: the same up to their spread.
            expect(Math.abs(got - want)).toBeLessThan(cutOff ? 0.06 : 1e-4);
            expect(ownSeen).toBe((2 * half + 1) ** 2);
          }
        }
      }
      expect(asked).toBeGreaterThan(3);
    }
  });

  it('fits blocks by their correlation, what falls outside as no agreement', () => {
    const [before, after] = [drawn(150, 120, 5), drawn(140, 124, 5)];
    const plots = [
      [15, 5],
      [130, 5],
      [130, 100],
      [15, 100],
    ] as const;
    const samples = sampleBox(before, plots);
    const sums = new Map<number, number[]>();
    samples.at.forEach((o, k) => {
      const [x, y] = [o % before.width, Math.floor(o / before.width)];
      const s = sums.get(samples.block[k]!) ?? [0, 0, 0, 0, 0];
      sums.set(samples.block[k]!, s);
      s[4]!++;
      const [u, v] = applyHomography(MAP, [x, y]);
      const [x0, y0] = [Math.floor(u), Math.floor(v)];
      if (!(u >= 0 && v >= 0 && u < after.width - 1 && v < after.height - 1) || !isSeen(after, x0, y0)) return;
      const [fx, fy] = [u - x0, v - y0];
      for (let c = 0; c < 3; c++) {
        const there =
          (1 - fy) * ((1 - fx) * value(after, x0, y0, c) + fx * value(after, x0 + 1, y0, c)) +
          fy * ((1 - fx) * value(after, x0, y0 + 1, c) + fx * value(after, x0 + 1, y0 + 1, c));
        s[0]! += there * value(before, x, y, c);
        s[1]! += value(before, x, y, c) ** 2;
        s[2]! += there ** 2;
      }
      s[3]!++;
    });
    let [sum, total] = [0, 0];
    for (const [ab, aa, bb, n, all] of [...sums.values()] as [number, number, number, number, number][]) {
      if (all < 8) continue;
      total += Math.sqrt(all);
      if (n >= 8) sum += (Math.sqrt(all) * (n / all) * ab) / Math.sqrt(aa * bb);
    }
    expect(total).toBeGreaterThan(0);
    expect(fitOf(before, after, samples)(MAP)).toBeCloseTo(sum / total, 5);
  });

  it('averages a photo in linear light, by whole pixels and by squares of them', () => {
    const random = seededRandom(9);
    for (const [width, height, to] of [
      [12, 9, 4],
      [64, 48, 8],
      [7, 5, 7],
    ] as const) {
      const data = Uint8Array.from({ length: 3 * width * height }, () => random.below(256));
      const view = makeView({ width, height, channels: 3, space: 'srgb', data }, to);
      const by = width / to;
      for (let y = 0; y < view.height; y++) {
        for (let x = 0; x < view.width; x++) {
          for (let c = 0; c < 3; c++) {
            let [sum, n] = [0, 0];
            for (let v = Math.ceil(y * by - 0.5); v < (y + 1) * by - 0.5; v++)
              for (let u = Math.ceil(x * by - 0.5); u < (x + 1) * by - 0.5; u++, n++)
                sum += LINEAR_OF_CODE[data[3 * (v * width + u) + c]!]!;
            expect(view.rgb[c]![y * view.width + x]).toBeCloseTo(sum / n, 5);
          }
        }
      }
    }
  });

  it('makes the planes of logarithms, smoothed, freed of the local level of what is seen, in units of their own spread', () => {
    const random = seededRandom(11);
    const [w, h, n] = [60, 44, 60 * 44];
    const plane = (): Float32Array =>
      Float32Array.from({ length: n }, (_, o) => 0.15 + 0.2 * random.next() + 0.1 * Math.sin(o / 9));
    const rgb = [plane(), plane(), plane()] as const;
    const seen = Uint8Array.from({ length: n }, (_, o) =>
      o % w > 20 && o % w < 29 && o > 12 * w && o < 20 * w ? 0 : 1,
    );
    const planes = makePlanes({ width: w, height: h, scale: 1, rgb, seen }, 1.5, 9);
    const log = (c: number, o: number): number => Math.log(rgb[c]![o]! + 0.004);
    const wanted = [
      (o: number) => 0.3 * log(0, o) + 0.59 * log(1, o) + 0.11 * log(2, o),
      (o: number) => log(0, o) - log(1, o),
      (o: number) => log(2, o) - log(1, o),
    ];
    const cover = blur(Float32Array.from(seen), w, h, 9);
    wanted.forEach((of, c) => {
      const fine = blur(
        Float32Array.from({ length: n }, (_, o) => of(o)),
        w,
        h,
        1.5,
      );
      const level = blur(
        fine.map((v, o) => v * seen[o]!),
        w,
        h,
        9,
      );
      const ratios: number[] = [];
      let hidden = 0;
      for (let o = 0; o < n; o++) {
        const got = planes.data[4 * o + c]!;
        expect(planes.data[4 * o + 3]).toBe(seen[o]);
        if (seen[o] === 0) hidden += Math.abs(got);
        else if (Math.abs(got) > 0.5) ratios.push((fine[o]! - level[o]! / cover[o]!) / got);
      }
      expect(hidden).toBe(0);
      expect(ratios.length).toBeGreaterThan(500);
      const unit = ratios.reduce((sum, v) => sum + v, 0) / ratios.length;
      for (const ratio of ratios) expect(Math.abs(ratio / unit - 1)).toBeLessThan(2e-3);
      // Most values lie within two of the units.
      let most = 0;
      for (let o = 0; o < n; o++) if (seen[o] && Math.abs(planes.data[4 * o + c]!) < 2) most++;
      expect(most / n).toBeGreaterThan(0.85);
    });
  });

  it('takes cube roots to a millionth', () => {
    const values = [0.002, 0.01, 0.2, 1, 0.999, 7.3, 120, 0.0045];
    const {
      kernel,
      at: [where],
    } = lay(4 * values.length);
    new Float32Array(kernel.memory.buffer, where, values.length).set(values);
    kernel.cubeRoots(where, values.length);
    new Float32Array(kernel.memory.buffer, where, values.length).forEach((root, i) =>
      expect(Math.abs(root / Math.cbrt(values[i]!) - 1)).toBeLessThan(1e-6),
    );
  });

  it('finds what is darker than its window, and the mean green of squares', () => {
    const random = seededRandom(4);
    const [w, h, half] = [37, 29, 5];
    const grey = Uint8Array.from({ length: w * h }, () => 60 + random.below(60));
    const {
      kernel,
      at: [bytes, columns, to],
    } = lay(w * h, 4 * w, w * h);
    new Uint8Array(kernel.memory.buffer, bytes, w * h).set(grey);
    kernel.darkBytes(bytes, w, h, half, columns, to);
    const dark = new Uint8Array(kernel.memory.buffer, to, w * h).slice();
    let wrong = 0;
    for (let y = 0; y < h; y++) {
      for (let x = 0; x < w; x++) {
        let [sum, n] = [0, 0];
        for (let v = Math.max(0, y - half); v <= Math.min(h - 1, y + half); v++)
          for (let u = Math.max(0, x - half); u <= Math.min(w - 1, x + half); u++, n++) sum += grey[v * w + u]!;
        const limit = (0.85 * sum) / n - 3;
        // Where it is the limit itself, either will do.
        if (Math.abs(grey[y * w + x]! - limit) > 1e-9 && (dark[y * w + x] === 1) !== grey[y * w + x]! < limit) wrong++;
      }
    }
    expect(wrong).toBe(0);
    expect(dark.includes(1)).toBe(true);
    const data = Uint8Array.from({ length: 3 * 13 * 6 }, () => random.below(256));
    const green = lay(data.length, 16, 8);
    new Uint8Array(green.kernel.memory.buffer, green.at[0], data.length).set(data);
    green.kernel.greenSquares(green.at[0], 13, 6, 3, 4, green.at[1], green.at[2]);
    const squares = new Uint8Array(green.kernel.memory.buffer, green.at[2], 8);
    for (let y = 0; y < 2; y++) {
      for (let x = 0; x < 4; x++) {
        let sum = 0;
        for (let v = 3 * y; v < 3 * y + 3; v++)
          for (let u = 3 * x; u < 3 * x + 3; u++) sum += data[3 * (13 * v + u) + 1]!;
        expect(squares[4 * y + x]).toBe(Math.floor(sum / 9));
      }
    }
  });
});
