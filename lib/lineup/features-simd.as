// Two loops of lining up, sixteen bytes at a time: blurring, and looking for the descriptors that differ in the fewest bits.
// AssemblyScript, compiled by `npm run kernel` into features-simd-bytes.ts. Memory is laid out by the caller.

/** Sum along a row of `radius` each side: the row lies at `from` with `radius` extra values on either side. */
export function blurRow(from: usize, to: usize, width: i32, kernel: usize, radius: i32): void {
  const centre = from + ((<usize>radius) << 2);
  for (let x = 0; x < width; x += 4) {
    const at = centre + ((<usize>x) << 2);
    let sum = f32x4.mul(f32x4.splat(load<f32>(kernel)), v128.load(at));
    for (let i = 1; i <= radius; i++) {
      const by = (<usize>i) << 2;
      sum = f32x4.add(sum, f32x4.mul(f32x4.splat(load<f32>(kernel + by)), f32x4.add(v128.load(at - by), v128.load(at + by))));
    }
    v128.store(to + ((<usize>x) << 2), sum);
  }
}

/** One row of the blur down the columns of `from` (height rows of `stride` values, a multiple of four). */
export function blurDown(from: usize, to: usize, stride: i32, height: i32, y: i32, kernel: usize, radius: i32): void {
  const row = (<usize>stride) << 2;
  const own = from + <usize>y * row;
  for (let x = 0; x < stride; x += 4) {
    const by = (<usize>x) << 2;
    let sum = f32x4.mul(f32x4.splat(load<f32>(kernel)), v128.load(own + by));
    for (let i = 1; i <= radius; i++) {
      const up = from + <usize>max(0, y - i) * row;
      const down = from + <usize>min(height - 1, y + i) * row;
      sum = f32x4.add(sum, f32x4.mul(f32x4.splat(load<f32>(kernel + ((<usize>i) << 2))), f32x4.add(v128.load(up + by), v128.load(down + by))));
    }
    v128.store(to + by, sum);
  }
}

/**
 * Looks for the descriptor (64 bytes each at `many`) with the fewest bits different from `one` among those from..to whose x lies within
 * reach of it. Its number (-1 for none), its bits and those of the second nearest so far stand at `to` (32-bit each) and are replaced by
 * nearer ones; keeps for each of the many the fewest bits it was met with (16-bit at `backBest`) and by whom (`i`, 32-bit at `back`).
 */
export function nearest(one: usize, many: usize, xs: usize, from: i32, end: i32, x: f64, reach: f64, i: i32, backBest: usize, back: usize, to: usize): void {
  const a = v128.load(one);
  const b = v128.load(one, 16);
  const c = v128.load(one, 32);
  const d = v128.load(one, 48);
  let at = load<i32>(to), best = load<i32>(to, 4), second = load<i32>(to, 8);
  for (let k = from; k < end; k++) {
    const by = (<usize>k) << 2;
    const dx = <f64>load<f32>(xs + by) - x;
    if (dx > reach || dx < -reach) continue;
    const word = many + ((<usize>k) << 6);
    const p = i8x16.add(i8x16.popcnt(v128.xor(a, v128.load(word))), i8x16.popcnt(v128.xor(b, v128.load(word, 16))));
    const q = i8x16.add(i8x16.popcnt(v128.xor(c, v128.load(word, 32))), i8x16.popcnt(v128.xor(d, v128.load(word, 48))));
    const fours = i32x4.extadd_pairwise_i16x8_u(i16x8.extadd_pairwise_i8x16_u(i8x16.add(p, q)));
    const bits = i32x4.extract_lane(fours, 0) + i32x4.extract_lane(fours, 1) + i32x4.extract_lane(fours, 2) + i32x4.extract_lane(fours, 3);
    if (bits < best) {
      second = best;
      best = bits;
      at = k;
    } else if (bits < second) {
      second = bits;
    }
    if (bits < <i32>load<u16>(backBest + ((<usize>k) << 1))) {
      store<u16>(backBest + ((<usize>k) << 1), <u16>bits);
      store<i32>(back + by, i);
    }
  }
  store<i32>(to, at);
  store<i32>(to, best, 4);
  store<i32>(to, second, 8);
}

// @ts-ignore: decorator
@inline
function rounded(v: f64): i32 {
  return <i32>Math.floor(v + 0.5);
}

/** Mean over the square of half-edge `e` about a place (pixel edges at whole numbers) by a summed-area table; beyond the photo, its border. */
function boxMean(sums: usize, w: i32, h: i32, x: f64, y: f64, e: f64): f64 {
  const x0 = max(0, min(w - 1, rounded(x - e)));
  const y0 = max(0, min(h - 1, rounded(y - e)));
  const x1 = max(x0 + 1, min(w, rounded(x + e)));
  const y1 = max(y0 + 1, min(h, rounded(y + e)));
  const top = sums + ((<usize>(y0 * (w + 1))) << 3);
  const bottom = sums + ((<usize>(y1 * (w + 1))) << 3);
  const left = (<usize>x0) << 3;
  const right = (<usize>x1) << 3;
  return (load<f64>(bottom + right) - load<f64>(top + right) - load<f64>(bottom + left) + load<f64>(top + left)) / <f64>((x1 - x0) * (y1 - y0));
}

/**
 * Descriptors (64 bytes each at `to`) of `count` points of one octave, whose summed-area table (w + 1 x h + 1 64-bit floats) lies at
 * `sums`: x, y and half the patch's edge as 64-bit floats at `points`, read at a turn of cosine c and sine s. `cells` holds 48 64-bit
 * floats for the work.
 */
export function describe(sums: usize, w: i32, h: i32, points: usize, count: i32, c: f64, s: f64, cells: usize, to: usize): void {
  for (let i = 0; i < count; i++) {
    const x = load<f64>(points), y = load<f64>(points, 8), half = load<f64>(points, 16);
    points += 24;
    let bit = 0;
    let word: i32 = 0;
    let at = to + ((<usize>i) << 6);
    for (let n = 2; n <= 4; n++) {
      const edge = (2 * half) / <f64>n;
      const e = edge / 4;
      for (let q = 0; q < n * n; q++) {
        const u = (<f64>(q % n) + 0.5) * edge - half;
        const v = (<f64>(q / n) + 0.5) * edge - half;
        const mx = x + c * u - s * v, my = y + s * u + c * v;
        // Four quarters of the cell; with a turn their boxes stay upright, which a few degrees forgive.
        const a = boxMean(sums, w, h, mx - c * e + s * e, my - s * e - c * e, e);
        const b = boxMean(sums, w, h, mx + c * e + s * e, my + s * e - c * e, e);
        const d = boxMean(sums, w, h, mx - c * e - s * e, my - s * e + c * e, e);
        const f = boxMean(sums, w, h, mx + c * e - s * e, my + s * e + c * e, e);
        const cell = cells + ((<usize>q) << 3);
        store<f64>(cell, a + b + d + f);
        store<f64>(cell, b + f - a - d, 128);
        store<f64>(cell, d + f - a - b, 256);
      }
      for (let channel = cells; channel < cells + 384; channel += 128) {
        for (let p = 0; p < n * n; p++) {
          const own = load<f64>(channel + ((<usize>p) << 3));
          for (let q = p + 1; q < n * n; q++) {
            word |= <i32>(own > load<f64>(channel + ((<usize>q) << 3))) << (bit & 31);
            bit++;
            if ((bit & 31) == 0) {
              store<i32>(at, word);
              at += 4;
              word = 0;
            }
          }
        }
      }
    }
    if ((bit & 31) != 0) store<i32>(at, word);
  }
}
