// Two loops of lining up, sixteen bytes at a time: blurring, and counting the bits in which descriptors differ.
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
 * Bits in which one descriptor (64 bytes at `one`) differs from each of `count` at `many`: 16-bit numbers at `to`.
 */
export function bitsApart(one: usize, many: usize, count: i32, to: usize): void {
  const a = v128.load(one);
  const b = v128.load(one, 16);
  const c = v128.load(one, 32);
  const d = v128.load(one, 48);
  for (let k = 0; k < count; k++) {
    const at = many + ((<usize>k) << 6);
    const p = i8x16.add(i8x16.popcnt(v128.xor(a, v128.load(at))), i8x16.popcnt(v128.xor(b, v128.load(at, 16))));
    const q = i8x16.add(i8x16.popcnt(v128.xor(c, v128.load(at, 32))), i8x16.popcnt(v128.xor(d, v128.load(at, 48))));
    const pairs = i16x8.extadd_pairwise_i8x16_u(i8x16.add(p, q));
    const fours = i32x4.extadd_pairwise_i16x8_u(pairs);
    store<u16>(to + ((<usize>k) << 1), <u16>(i32x4.extract_lane(fours, 0) + i32x4.extract_lane(fours, 1) + i32x4.extract_lane(fours, 2) + i32x4.extract_lane(fours, 3)));
  }
}
