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
 * Looks for the descriptor (64 bytes each at `many`) with the fewest bits different from `one` among those from..to whose size lies
 * between least and most and whose x within reach of it. Writes its number (-1 for none), its bits and those of the second nearest at
 * `to` (32-bit each); keeps for each of the many the fewest bits it was met with (16-bit at `backBest`) and by whom (`i`, 32-bit at `back`).
 */
export function nearest(one: usize, many: usize, xs: usize, sizes: usize, from: i32, end: i32, x: f64, reach: f64, least: f64, most: f64, i: i32, backBest: usize, back: usize, to: usize): void {
  const a = v128.load(one);
  const b = v128.load(one, 16);
  const c = v128.load(one, 32);
  const d = v128.load(one, 48);
  let best = 999, second = 999, at = -1;
  for (let k = from; k < end; k++) {
    const by = (<usize>k) << 2;
    const size = <f64>load<f32>(sizes + by);
    if (size < least || size > most) continue;
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
