// The inner loop of every reading, sixteen pixels at a time: the same sums as kernel.ts, which explains them.
// AssemblyScript, compiled by `npm run kernel` into kernel-simd-bytes.ts.
//
// Memory: [0, 256 KiB) linear light of each pair of codes, 32-bit fixed point with 19 fractional bits;
// then the pieces, the pixels and the blocks' sums, where the caller puts them.

const SUMS: i32 = 12;
/** 2^19: the fixed point of the pair table. */
const LIGHT_ONE: f64 = 524288;

// @ts-ignore: decorator
@inline
function red(a: v128, b: v128, c: v128): v128 {
  const ab = i8x16.shuffle(a, b, 0, 3, 6, 9, 12, 15, 18, 21, 24, 27, 30, 0, 0, 0, 0, 0);
  return i8x16.shuffle(ab, c, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 17, 20, 23, 26, 29);
}

// @ts-ignore: decorator
@inline
function green(a: v128, b: v128, c: v128): v128 {
  const ab = i8x16.shuffle(a, b, 1, 4, 7, 10, 13, 16, 19, 22, 25, 28, 31, 0, 0, 0, 0, 0);
  return i8x16.shuffle(ab, c, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 18, 21, 24, 27, 30);
}

// @ts-ignore: decorator
@inline
function blue(a: v128, b: v128, c: v128): v128 {
  const ab = i8x16.shuffle(a, b, 2, 5, 8, 11, 14, 17, 20, 23, 26, 29, 0, 0, 0, 0, 0, 0);
  return i8x16.shuffle(ab, c, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 16, 19, 22, 25, 28, 31);
}

/** Hue in sixtieths of delta: hue = 60 k / delta degrees; eight pixels. */
// @ts-ignore: decorator
@inline
function hueSteps(r: v128, g: v128, b: v128, max: v128, delta: v128): v128 {
  const isG = i16x8.eq(g, max);
  const isR = i16x8.eq(r, max);
  const two = i16x8.shl(delta, 1);
  const gk = i16x8.add(two, i16x8.sub(b, r));
  const bk = i16x8.add(i16x8.shl(delta, 2), i16x8.sub(r, g));
  const gb = i16x8.sub(g, b);
  const six = i16x8.add(two, i16x8.shl(delta, 2));
  const rk = i16x8.add(gb, v128.and(six, i16x8.shr_s(gb, 15)));
  return v128.bitselect(gk, v128.bitselect(rk, bk, isR), isG);
}

// @ts-ignore: decorator
@inline
function across(v: v128): f64 {
  return f64(f32x4.extract_lane(v, 0)) + f64(f32x4.extract_lane(v, 1)) + f64(f32x4.extract_lane(v, 2)) + f64(f32x4.extract_lane(v, 3));
}

// @ts-ignore: decorator
@inline
function acrossWhole(v: v128): f64 {
  return f64(i32x4.extract_lane(v, 0)) + f64(i32x4.extract_lane(v, 1)) + f64(i32x4.extract_lane(v, 2)) + f64(i32x4.extract_lane(v, 3));
}

/** Linear light of the eight pairs of codes in a vector, added up. */
// @ts-ignore: decorator
@inline
function light(codes: v128): u32 {
  const low = u64(i64x2.extract_lane(codes, 0));
  const high = u64(i64x2.extract_lane(codes, 1));
  return load<u32>(usize((low & 0xffff) << 2)) + load<u32>(usize(((low >> 16) & 0xffff) << 2)) +
    load<u32>(usize(((low >> 32) & 0xffff) << 2)) + load<u32>(usize((low >> 48) << 2)) +
    load<u32>(usize((high & 0xffff) << 2)) + load<u32>(usize(((high >> 16) & 0xffff) << 2)) +
    load<u32>(usize(((high >> 32) & 0xffff) << 2)) + load<u32>(usize((high >> 48) << 2));
}

// @ts-ignore: decorator
@inline
function add(at: usize, field: i32, value: f64): void {
  const place = at + (usize(field) << 3);
  store<f64>(place, load<f64>(place) + value);
}

/**
 * Adds pieces of rows to their blocks' sums.
 * pieces: three 32-bit whole numbers each: address of the first pixel, pixels (at most 4096), block.
 * The turf mask in whole numbers: low1 delta <= low2 k, high2 k <= high1 delta, satMax max <= satDelta delta.
 */
export function addPieces(
  pieces: usize, count: i32, sums: usize,
  low1: i32, low2: i32, high1: i32, high2: i32, satMax: i32, satDelta: i32,
): void {
  const lowDelta = i16x8.splat(i16(low1));
  const lowK = i16x8.splat(i16(low2));
  const highDelta = i16x8.splat(i16(high1));
  const highK = i16x8.splat(i16(high2));
  const bySatMax = i16x8.splat(i16(satMax));
  const bySatDelta = i16x8.splat(i16(satDelta));
  const iota = i8x16(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15);
  const by255 = f32x4.splat(1.0 / 255.0);
  for (let piece = 0; piece < count; piece++) {
    const entry = pieces + usize(piece) * 12;
    let pixel = usize(load<u32>(entry));
    const pixels = load<i32>(entry, 4);
    const at = sums + usize(load<i32>(entry, 8)) * usize(SUMS * 8);
    let turf = i32x4.splat(0);
    let sumMax = i32x4.splat(0);
    let sumR = i32x4.splat(0);
    let sumG = i32x4.splat(0);
    let sumB = i32x4.splat(0);
    let hue = f32x4.splat(0);
    let saturation = f32x4.splat(0);
    let squares = f32x4.splat(0);
    let lightR: u32 = 0;
    let lightG: u32 = 0;
    let lightB: u32 = 0;
    for (let left = pixels; left > 0; left -= 16, pixel += 48) {
      const a = v128.load(pixel);
      const b = v128.load(pixel, 16);
      const c = v128.load(pixel, 32);
      const r8 = red(a, b, c);
      const g8 = green(a, b, c);
      const b8 = blue(a, b, c);
      const max8 = i8x16.max_u(i8x16.max_u(r8, g8), b8);
      const delta8 = i8x16.sub(max8, i8x16.min_u(i8x16.min_u(r8, g8), b8));

      const maxL = i16x8.extend_low_i8x16_u(max8);
      const maxH = i16x8.extend_high_i8x16_u(max8);
      const deltaL = i16x8.extend_low_i8x16_u(delta8);
      const deltaH = i16x8.extend_high_i8x16_u(delta8);
      const kL = hueSteps(i16x8.extend_low_i8x16_u(r8), i16x8.extend_low_i8x16_u(g8), i16x8.extend_low_i8x16_u(b8), maxL, deltaL);
      const kH = hueSteps(i16x8.extend_high_i8x16_u(r8), i16x8.extend_high_i8x16_u(g8), i16x8.extend_high_i8x16_u(b8), maxH, deltaH);
      const keepL = v128.and(
        v128.and(i16x8.le_s(i16x8.mul(deltaL, lowDelta), i16x8.mul(kL, lowK)), i16x8.le_s(i16x8.mul(kL, highK), i16x8.mul(deltaL, highDelta))),
        i16x8.le_s(i16x8.mul(maxL, bySatMax), i16x8.mul(deltaL, bySatDelta)));
      const keepH = v128.and(
        v128.and(i16x8.le_s(i16x8.mul(deltaH, lowDelta), i16x8.mul(kH, lowK)), i16x8.le_s(i16x8.mul(kH, highK), i16x8.mul(deltaH, highDelta))),
        i16x8.le_s(i16x8.mul(maxH, bySatMax), i16x8.mul(deltaH, bySatDelta)));
      // A grey has no hue and is never turf; nor is what lies beyond the piece's end.
      const inside = v128.and(i8x16.lt_u(iota, i8x16.splat(i8(min(left, 16)))), i8x16.ne(delta8, i8x16.splat(0)));
      const keep8 = v128.and(i8x16.narrow_i16x8_s(keepL, keepH), inside);
      if (!v128.any_true(keep8)) continue;

      const rKept = v128.and(r8, keep8);
      const gKept = v128.and(g8, keep8);
      const bKept = v128.and(b8, keep8);
      turf = i32x4.add(turf, i32x4.extadd_pairwise_i16x8_s(i16x8.extadd_pairwise_i8x16_s(keep8)));
      sumMax = i32x4.add(sumMax, i32x4.extadd_pairwise_i16x8_u(i16x8.extadd_pairwise_i8x16_u(v128.and(max8, keep8))));
      sumR = i32x4.add(sumR, i32x4.extadd_pairwise_i16x8_u(i16x8.extadd_pairwise_i8x16_u(rKept)));
      sumG = i32x4.add(sumG, i32x4.extadd_pairwise_i16x8_u(i16x8.extadd_pairwise_i8x16_u(gKept)));
      sumB = i32x4.add(sumB, i32x4.extadd_pairwise_i16x8_u(i16x8.extadd_pairwise_i8x16_u(bKept)));
      lightR += light(rKept);
      lightG += light(gKept);
      lightB += light(bKept);

      const maskL = i16x8.extend_low_i8x16_s(keep8);
      const maskH = i16x8.extend_high_i8x16_s(keep8);
      for (let quarter = 0; quarter < 4; quarter++) {
        let k: v128;
        let delta: v128;
        let max: v128;
        let mask: v128;
        if (quarter == 0) {
          k = i32x4.extend_low_i16x8_s(kL);
          delta = i32x4.extend_low_i16x8_s(deltaL);
          max = i32x4.extend_low_i16x8_s(maxL);
          mask = i32x4.extend_low_i16x8_s(maskL);
        } else if (quarter == 1) {
          k = i32x4.extend_high_i16x8_s(kL);
          delta = i32x4.extend_high_i16x8_s(deltaL);
          max = i32x4.extend_high_i16x8_s(maxL);
          mask = i32x4.extend_high_i16x8_s(maskL);
        } else if (quarter == 2) {
          k = i32x4.extend_low_i16x8_s(kH);
          delta = i32x4.extend_low_i16x8_s(deltaH);
          max = i32x4.extend_low_i16x8_s(maxH);
          mask = i32x4.extend_low_i16x8_s(maskH);
        } else {
          k = i32x4.extend_high_i16x8_s(kH);
          delta = i32x4.extend_high_i16x8_s(deltaH);
          max = i32x4.extend_high_i16x8_s(maxH);
          mask = i32x4.extend_high_i16x8_s(maskH);
        }
        const kF = f32x4.convert_i32x4_s(k);
        const deltaF = f32x4.convert_i32x4_s(delta);
        const maxF = f32x4.convert_i32x4_s(max);
        // One division serves both ratios.
        const inverse = v128.and(f32x4.div(f32x4.splat(1), f32x4.mul(deltaF, maxF)), mask);
        const h = f32x4.mul(f32x4.mul(kF, maxF), inverse);
        const s = f32x4.mul(f32x4.mul(deltaF, deltaF), inverse);
        const q = f32x4.sub(f32x4.sub(h, s), v128.and(f32x4.mul(maxF, by255), mask));
        hue = f32x4.add(hue, h);
        saturation = f32x4.add(saturation, s);
        squares = f32x4.add(squares, f32x4.mul(q, q));
      }
    }
    add(at, 0, f64(pixels));
    add(at, 1, -acrossWhole(turf));
    add(at, 2, across(hue));
    add(at, 3, across(saturation));
    add(at, 4, acrossWhole(sumMax));
    add(at, 5, across(squares));
    add(at, 6, f64(lightR) / LIGHT_ONE);
    add(at, 7, f64(lightG) / LIGHT_ONE);
    add(at, 8, f64(lightB) / LIGHT_ONE);
    add(at, 9, acrossWhole(sumR));
    add(at, 10, acrossWhole(sumG));
    add(at, 11, acrossWhole(sumB));
  }
}
