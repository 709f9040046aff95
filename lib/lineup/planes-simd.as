// The loops of lining up that look at every pixel of a copy, four numbers at a time: three planes and whether the place is seen.
// AssemblyScript, compiled by `npm run kernel` into planes-simd-bytes.ts. Memory is laid out by the caller. An image is four 32-bit
// floats a pixel, row by row; a map is nine 64-bit floats.

// @ts-ignore: decorator
@inline
function sumOf(v: v128): f32 {
  return f32x4.extract_lane(v, 0) + f32x4.extract_lane(v, 1) + f32x4.extract_lane(v, 2) + f32x4.extract_lane(v, 3);
}

// @ts-ignore: decorator
@inline
function threeOf(v: v128): f64 {
  return <f64>f32x4.extract_lane(v, 0) + <f64>f32x4.extract_lane(v, 1) + <f64>f32x4.extract_lane(v, 2);
}

/**
 * Fills `to` (w x h) with `after` (aw x ah) looked up through the map, bilinear; zeros where a place is outside, beside a place not
 * seen, or (with `before`, w x h) not seen there.
 */
export function warp(after: usize, aw: i32, ah: i32, map: usize, before: usize, to: usize, w: i32, h: i32): void {
  const a = load<f64>(map), d = load<f64>(map, 24), g = load<f64>(map, 48);
  const row = (<usize>aw) << 4;
  const zero = f32x4.splat(0);
  const right = <f64>(aw - 1), low = <f64>(ah - 1);
  let o: usize = 0;
  for (let y = 0; y < h; y++) {
    const fy = <f64>y;
    let nx = load<f64>(map, 8) * fy + load<f64>(map, 16);
    let ny = load<f64>(map, 32) * fy + load<f64>(map, 40);
    let nw = load<f64>(map, 56) * fy + load<f64>(map, 64);
    for (let x = 0; x < w; x++, o += 16, nx += a, ny += d, nw += g) {
      let value = zero;
      if (nw > 0 && (before === 0 || load<f32>(before + o, 12) != 0)) {
        const px = nx / nw;
        const py = ny / nw;
        if (px >= 0 && py >= 0 && px < right && py < low) {
          const x0 = <i32>px;
          const y0 = <i32>py;
          const at = after + ((<usize>(y0 * aw + x0)) << 4);
          const p = v128.load(at);
          const q = v128.load(at, 16);
          const r = v128.load(at + row);
          const s = v128.load(at + row, 16);
          if (i32x4.extract_lane(v128.and(v128.and(p, q), v128.and(r, s)), 3) != 0) {
            const u = <f32>(px - <f64>x0);
            const v = <f32>(py - <f64>y0);
            const top = f32x4.add(p, f32x4.mul(f32x4.splat(u), f32x4.sub(q, p)));
            const bottom = f32x4.add(r, f32x4.mul(f32x4.splat(u), f32x4.sub(s, r)));
            value = f32x4.replace_lane(f32x4.add(top, f32x4.mul(f32x4.splat(v), f32x4.sub(bottom, top))), 3, 1);
          }
        }
      }
      v128.store(to + o, value);
    }
  }
}

/** Sums of before x warped, before squared, warped squared where the warped one is seen; how many that are, and how many are seen before: five 64-bit floats. */
export function correlate(before: usize, warped: usize, w: i32, h: i32, to: usize): void {
  let ab: f64 = 0, aa: f64 = 0, bb: f64 = 0;
  let both: i32 = 0, all: i32 = 0;
  let at: usize = 0;
  for (let y = 0; y < h; y++) {
    let rab = f32x4.splat(0), raa = f32x4.splat(0), rbb = f32x4.splat(0);
    for (let x = 0; x < w; x++, at += 16) {
      const s = v128.load(before + at);
      const t = v128.load(warped + at);
      if (f32x4.extract_lane(s, 3) != 0) all++;
      if (f32x4.extract_lane(t, 3) == 0) continue;
      both++;
      rab = f32x4.add(rab, f32x4.mul(s, t));
      raa = f32x4.add(raa, f32x4.mul(s, s));
      rbb = f32x4.add(rbb, f32x4.mul(t, t));
    }
    ab += threeOf(rab);
    aa += threeOf(raa);
    bb += threeOf(rbb);
  }
  store<f64>(to, ab);
  store<f64>(to, aa, 8);
  store<f64>(to, bb, 16);
  store<f64>(to, <f64>both, 24);
  store<f64>(to, <f64>all, 32);
}

/**
 * Correlation by blocks: for each of `count` places of `before` (32-bit pixel numbers at `places`, a byte for the block each at
 * `blocks`), the same place of `after` by the map. Adds to five 64-bit floats a block at `to`: products, squares of each, how many
 * fell inside, how many there are.
 */
export function fit(before: usize, w: i32, after: usize, aw: i32, ah: i32, map: usize, places: usize, blocks: usize, count: i32, to: usize): void {
  const m0 = load<f64>(map), m1 = load<f64>(map, 8), m2 = load<f64>(map, 16), m3 = load<f64>(map, 24), m4 = load<f64>(map, 32);
  const m5 = load<f64>(map, 40), m6 = load<f64>(map, 48), m7 = load<f64>(map, 56), m8 = load<f64>(map, 64);
  const row = (<usize>aw) << 4;
  const right = <f64>(aw - 1), low = <f64>(ah - 1);
  let y = 0, from = 0;
  for (let k = 0; k < count; ) {
    // Places come row by row, so a block's come in runs.
    const block = load<u8>(blocks + <usize>k);
    let ab = f32x4.splat(0), aa = f32x4.splat(0), bb = f32x4.splat(0);
    let inside = 0;
    const first = k;
    for (; k < count && load<u8>(blocks + <usize>k) == block; k++) {
      const o = load<i32>(places + ((<usize>k) << 2));
      while (o - from >= w) {
        y++;
        from += w;
      }
      const fx = <f64>(o - from), fy = <f64>y;
      const nw = m6 * fx + m7 * fy + m8;
      if (!(nw > 0)) continue;
      const px = (m0 * fx + m1 * fy + m2) / nw;
      const py = (m3 * fx + m4 * fy + m5) / nw;
      if (!(px >= 0 && py >= 0 && px < right && py < low)) continue;
      const x0 = <i32>px, y0 = <i32>py;
      const at = after + ((<usize>(y0 * aw + x0)) << 4);
      const p = v128.load(at);
      if (f32x4.extract_lane(p, 3) == 0) continue;
      const q = v128.load(at, 16), r = v128.load(at + row), s = v128.load(at + row, 16);
      const u = f32x4.splat(<f32>(px - <f64>x0)), v = f32x4.splat(<f32>(py - <f64>y0));
      const top = f32x4.add(p, f32x4.mul(u, f32x4.sub(q, p)));
      const bottom = f32x4.add(r, f32x4.mul(u, f32x4.sub(s, r)));
      const there = f32x4.add(top, f32x4.mul(v, f32x4.sub(bottom, top)));
      const here = v128.load(before + ((<usize>o) << 4));
      ab = f32x4.add(ab, f32x4.mul(here, there));
      aa = f32x4.add(aa, f32x4.mul(here, here));
      bb = f32x4.add(bb, f32x4.mul(there, there));
      inside++;
    }
    const out = to + <usize>block * 40;
    store<f64>(out, load<f64>(out) + threeOf(ab));
    store<f64>(out, load<f64>(out, 8) + threeOf(aa), 8);
    store<f64>(out, load<f64>(out, 16) + threeOf(bb), 16);
    store<f64>(out, load<f64>(out, 24) + <f64>inside, 24);
    store<f64>(out, load<f64>(out, 32) + <f64>(k - first), 32);
  }
}

/**
 * 1 / variance of the differences in each block and plane (four floats a block at `precision`, the last 0), from their mean size
 * (1.2533 |r| is sigma for a Gaussian). `sums` holds five 64-bit floats a block for the work.
 */
export function blockPrecision(before: usize, warped: usize, w: i32, h: i32, block: i32, across: i32, blocks: i32, sums: usize, precision: usize): void {
  memory.fill(sums, 0, (<usize>blocks) * 32);
  let at: usize = 0;
  for (let y = 0; y < h; y++) {
    const first = (y / block) * across;
    for (let bx = 0; bx < across; bx++) {
      const end = min(w, (bx + 1) * block);
      let sum = f32x4.splat(0);
      let n = 0;
      for (let x = bx * block; x < end; x++, at += 16) {
        const t = v128.load(warped + at);
        if (f32x4.extract_lane(t, 3) == 0) continue;
        n++;
        sum = f32x4.add(sum, f32x4.abs(f32x4.sub(v128.load(before + at), t)));
      }
      const to = sums + ((<usize>(first + bx)) << 5);
      store<f64>(to, load<f64>(to) + <f64>f32x4.extract_lane(sum, 0));
      store<f64>(to, load<f64>(to, 8) + <f64>f32x4.extract_lane(sum, 1), 8);
      store<f64>(to, load<f64>(to, 16) + <f64>f32x4.extract_lane(sum, 2), 16);
      store<f64>(to, load<f64>(to, 24) + <f64>n, 24);
    }
  }
  for (let b = 0; b < blocks; b++) {
    const from = sums + ((<usize>b) << 5);
    const to = precision + ((<usize>b) << 4);
    const n = max<f64>(1, load<f64>(from, 24));
    for (let c = 0; c < 3; c++) {
      const sigma = max<f64>(0.25, (1.2533 * load<f64>(from + ((<usize>c) << 3))) / n);
      store<f32>(to + ((<usize>c) << 2), <f32>(1 / (sigma * sigma)));
    }
    store<f32>(to, 0, 12);
  }
}

/**
 * Moments of a Gauss-Newton round. With weights w, gradients (gx, gy) and differences r of all planes, for every pixel whose
 * neighbours are seen too: the sums of w gx gx, w gx gy, w gy gy times u^a v^b (a, b = 0..4: 25 64-bit floats each, a outside), then of
 * w gx r and w gy r times u^a v^b (a, b = 0..2: 9 each). u = (x - cx) / unit, v likewise.
 */
export function moments(before: usize, warped: usize, w: i32, h: i32, block: i32, across: i32, precision: usize, cx: f64, cy: f64, unit: f64, to: usize): void {
  memory.fill(to, 0, 93 * 8);
  const row = (<usize>w) << 4;
  const quarter = f32x4.splat(0.25), one = f32x4.splat(1), sixth = f32x4.splat(<f32>(1.0 / 6.0));
  for (let y = 1; y < h - 1; y++) {
    let xx0 = f32x4.splat(0), xx1 = xx0, xx2 = xx0, xx3 = xx0, xx4 = xx0;
    let xy0 = xx0, xy1 = xx0, xy2 = xx0, xy3 = xx0, xy4 = xx0;
    let yy0 = xx0, yy1 = xx0, yy2 = xx0, yy3 = xx0, yy4 = xx0;
    let rx0 = xx0, rx1 = xx0, rx2 = xx0, ry0 = xx0, ry1 = xx0, ry2 = xx0;
    for (let bx = 0; bx < across; bx++) {
      const p = v128.load(precision + ((<usize>((y / block) * across + bx)) << 4));
      const end = min(w - 1, (bx + 1) * block);
      for (let x = max(1, bx * block); x < end; x++) {
        const o = (<usize>(y * w + x)) << 4;
        const t = v128.load(warped + o);
        const tl = v128.load(warped + o - 16), tr = v128.load(warped + o, 16), tu = v128.load(warped + o - row), td = v128.load(warped + o + row);
        if (i32x4.extract_lane(v128.and(v128.and(t, v128.and(tl, tr)), v128.and(tu, td)), 3) == 0) continue;
        const s = before + o;
        const r = f32x4.sub(v128.load(s), t);
        const weight = f32x4.div(p, f32x4.add(one, f32x4.mul(f32x4.mul(r, r), f32x4.mul(p, sixth))));
        const gx = f32x4.mul(quarter, f32x4.add(f32x4.sub(v128.load(s, 16), v128.load(s - 16)), f32x4.sub(tr, tl)));
        const gy = f32x4.mul(quarter, f32x4.add(f32x4.sub(v128.load(s + row), v128.load(s - row)), f32x4.sub(td, tu)));
        const wx = f32x4.mul(weight, gx), wy = f32x4.mul(weight, gy);
        const u = f32x4.splat(<f32>((<f64>x - cx) / unit));
        let xx = f32x4.mul(wx, gx), xy = f32x4.mul(wx, gy), yy = f32x4.mul(wy, gy), rx = f32x4.mul(wx, r), ry = f32x4.mul(wy, r);
        xx0 = f32x4.add(xx0, xx);
        xy0 = f32x4.add(xy0, xy);
        yy0 = f32x4.add(yy0, yy);
        rx0 = f32x4.add(rx0, rx);
        ry0 = f32x4.add(ry0, ry);
        xx = f32x4.mul(xx, u);
        xy = f32x4.mul(xy, u);
        yy = f32x4.mul(yy, u);
        rx = f32x4.mul(rx, u);
        ry = f32x4.mul(ry, u);
        xx1 = f32x4.add(xx1, xx);
        xy1 = f32x4.add(xy1, xy);
        yy1 = f32x4.add(yy1, yy);
        rx1 = f32x4.add(rx1, rx);
        ry1 = f32x4.add(ry1, ry);
        xx = f32x4.mul(xx, u);
        xy = f32x4.mul(xy, u);
        yy = f32x4.mul(yy, u);
        xx2 = f32x4.add(xx2, xx);
        xy2 = f32x4.add(xy2, xy);
        yy2 = f32x4.add(yy2, yy);
        rx2 = f32x4.add(rx2, f32x4.mul(rx, u));
        ry2 = f32x4.add(ry2, f32x4.mul(ry, u));
        xx = f32x4.mul(xx, u);
        xy = f32x4.mul(xy, u);
        yy = f32x4.mul(yy, u);
        xx3 = f32x4.add(xx3, xx);
        xy3 = f32x4.add(xy3, xy);
        yy3 = f32x4.add(yy3, yy);
        xx4 = f32x4.add(xx4, f32x4.mul(xx, u));
        xy4 = f32x4.add(xy4, f32x4.mul(xy, u));
        yy4 = f32x4.add(yy4, f32x4.mul(yy, u));
      }
    }
    const v = (<f64>y - cy) / unit;
    spread(to, threeOf(xx0), v, 5);
    spread(to + 40, threeOf(xx1), v, 5);
    spread(to + 80, threeOf(xx2), v, 5);
    spread(to + 120, threeOf(xx3), v, 5);
    spread(to + 160, threeOf(xx4), v, 5);
    spread(to + 200, threeOf(xy0), v, 5);
    spread(to + 240, threeOf(xy1), v, 5);
    spread(to + 280, threeOf(xy2), v, 5);
    spread(to + 320, threeOf(xy3), v, 5);
    spread(to + 360, threeOf(xy4), v, 5);
    spread(to + 400, threeOf(yy0), v, 5);
    spread(to + 440, threeOf(yy1), v, 5);
    spread(to + 480, threeOf(yy2), v, 5);
    spread(to + 520, threeOf(yy3), v, 5);
    spread(to + 560, threeOf(yy4), v, 5);
    spread(to + 600, threeOf(rx0), v, 3);
    spread(to + 624, threeOf(rx1), v, 3);
    spread(to + 648, threeOf(rx2), v, 3);
    spread(to + 672, threeOf(ry0), v, 3);
    spread(to + 696, threeOf(ry1), v, 3);
    spread(to + 720, threeOf(ry2), v, 3);
  }
}

/** Adds sum x v^b for b = 0, 1, ... */
function spread(to: usize, sum: f64, v: f64, powers: i32): void {
  let value = sum;
  for (let b = 0; b < powers; b++) {
    const at = to + ((<usize>b) << 3);
    store<f64>(at, load<f64>(at) + value);
    value *= v;
  }
}

// ---- Looking for small windows ----

/** How many rows and columns a window's every value stands for: the planes are smoothed more widely than that. */
const STEP = 2;

let wide: i32 = 0;
let high: i32 = 0;
let ownImage: usize = 0;
let splitPlanes: usize = 0;
let planeBytes: usize = 0;
let rowBytes: usize = 0;
let sumTable: usize = 0;
let seenOwn: usize = 0;
let seenOther: usize = 0;
let template: usize = 0;
let surface: usize = 0;
let side: i32 = 0;
let thin: i32 = 0;
let quads: i32 = 0;
let reachOf: i32 = 0;
let areaOf: f64 = 0;
let ownSize: f64 = 0;
let weight0: f32 = 0;
let weight1: f32 = 0;
let weight2: f32 = 0;

/**
 * What looking for windows needs of `own` and `other` (images w x h): the other's planes apart and by even and odd columns
 * (`split`: for each parity and row, three planes and what is seen, `stride` floats each), summed-area tables of its planes and their
 * weighted squares (`table`, four 64-bit floats a place), and of what is seen in both (32-bit).
 */
export function layWindows(own: usize, other: usize, w: i32, h: i32, split: usize, stride: i32, table: usize, tableOwn: usize, tableOther: usize, w0: f32, w1: f32, w2: f32): void {
  wide = w;
  high = h;
  ownImage = own;
  splitPlanes = split;
  planeBytes = (<usize>stride) << 2;
  rowBytes = planeBytes << 2;
  sumTable = table;
  seenOwn = tableOwn;
  seenOther = tableOther;
  weight0 = w0;
  weight1 = w1;
  weight2 = w2;
  memory.fill(split, 0, (<usize>h) * 2 * rowBytes);
  const line = (<usize>(w + 1)) << 5;
  memory.fill(table, 0, line);
  memory.fill(tableOwn, 0, (<usize>(w + 1)) << 2);
  memory.fill(tableOther, 0, (<usize>(w + 1)) << 2);
  let at: usize = 0;
  for (let y = 0; y < h; y++) {
    let s01 = f64x2.splat(0), s23 = f64x2.splat(0);
    let nOwn: i32 = 0, nOther: i32 = 0;
    let to = table + (<usize>(y + 1)) * line;
    memory.fill(to, 0, 32);
    let seen = (<usize>((y + 1) * (w + 1))) << 2;
    const up = (<usize>(w + 1)) << 2;
    store<i32>(tableOwn + seen, 0);
    store<i32>(tableOther + seen, 0);
    for (let x = 0; x < w; x++, at += 16) {
      const v = v128.load(other + at);
      const p = f32x4.extract_lane(v, 0), q = f32x4.extract_lane(v, 1), r = f32x4.extract_lane(v, 2), s = f32x4.extract_lane(v, 3);
      const place = split + (<usize>((x & 1) * h + y)) * rowBytes + ((<usize>(x >> 1)) << 2);
      store<f32>(place, p);
      store<f32>(place + planeBytes, q);
      store<f32>(place + 2 * planeBytes, r);
      store<f32>(place + 3 * planeBytes, s);
      s01 = f64x2.add(s01, f64x2.promote_low_f32x4(v));
      const square: f64 = <f64>(w0 * p * p + w1 * q * q + w2 * r * r);
      s23 = f64x2.add(s23, f64x2.replace_lane(f64x2.splat(<f64>r), 1, square));
      to += 32;
      v128.store(to, f64x2.add(v128.load(to - line), s01));
      v128.store(to, f64x2.add(v128.load(to - line, 16), s23), 16);
      nOwn += load<f32>(own + at, 12) != 0 ? 1 : 0;
      nOther += s != 0 ? 1 : 0;
      seen += 4;
      store<i32>(tableOwn + seen, load<i32>(tableOwn + seen - up) + nOwn);
      store<i32>(tableOther + seen, load<i32>(tableOther + seen - up) + nOther);
    }
  }
}

/** Sets the size of the windows looked for, and where their template (16 x 5 x 16 floats) and their surface of correlations lie. */
export function setWindows(half: i32, reach: i32, templateAt: usize, surfaceAt: usize): void {
  side = 2 * half + 1;
  thin = (side + STEP - 1) / STEP;
  quads = (thin + 3) >> 2;
  reachOf = reach;
  areaOf = <f64>(side * side);
  template = templateAt;
  surface = surfaceAt;
}

// @ts-ignore: decorator
@inline
function boxSeen(table: usize, left: i32, top: i32, size: i32): i32 {
  const a = table + ((<usize>(top * (wide + 1) + left)) << 2);
  const b = table + ((<usize>((top + size) * (wide + 1) + left)) << 2);
  const by = (<usize>size) << 2;
  return load<i32>(b + by) - load<i32>(b) - load<i32>(a + by) + load<i32>(a);
}

/** The window, thinned, freed of its means and weighted by plane; returns its weighted sum of squares. */
function cut(left: i32, top: i32): f32 {
  let sum = f32x4.splat(0);
  for (let j = 0; j < thin; j++) {
    let at = ownImage + ((<usize>((top + STEP * j) * wide + left)) << 4);
    for (let i = 0; i < thin; i++, at += STEP << 4) sum = f32x4.add(sum, v128.load(at));
  }
  const mean = f32x4.div(sum, f32x4.splat(<f32>(thin * thin)));
  const weights = f32x4.replace_lane(f32x4.replace_lane(f32x4.replace_lane(f32x4.splat(0), 0, weight0), 1, weight1), 2, weight2);
  const length = (<usize>quads) << 4;
  let squares = f32x4.splat(0);
  memory.fill(template, 0, (<usize>thin) * 3 * length);
  for (let j = 0; j < thin; j++) {
    let at = ownImage + ((<usize>((top + STEP * j) * wide + left)) << 4);
    let to = template + (<usize>j) * 3 * length;
    for (let i = 0; i < thin; i++, at += STEP << 4, to += 4) {
      const v = f32x4.sub(v128.load(at), mean);
      const weighted = f32x4.mul(weights, v);
      squares = f32x4.add(squares, f32x4.mul(weighted, v));
      store<f32>(to, f32x4.extract_lane(weighted, 0));
      store<f32>(to + length, f32x4.extract_lane(weighted, 1));
      store<f32>(to + 2 * length, f32x4.extract_lane(weighted, 2));
    }
  }
  return sumOf(squares);
}

/** The template times the other photo's planes. */
function product(left: i32, top: i32): f32 {
  let at = splitPlanes + (<usize>((left & 1) * high + top)) * rowBytes + ((<usize>(left >> 1)) << 2);
  let from = template;
  const length = (<usize>quads) << 4;
  let sum0 = f32x4.splat(0), sum1 = sum0, sum2 = sum0;
  for (let j = 0; j < thin; j++) {
    for (let by: usize = 0; by < length; by += 16) {
      sum0 = f32x4.add(sum0, f32x4.mul(v128.load(from + by), v128.load(at + by)));
      sum1 = f32x4.add(sum1, f32x4.mul(v128.load(from + length + by), v128.load(at + planeBytes + by)));
      sum2 = f32x4.add(sum2, f32x4.mul(v128.load(from + 2 * length + by), v128.load(at + 2 * planeBytes + by)));
    }
    from += 3 * length;
    at += STEP * rowBytes;
  }
  return sumOf(f32x4.add(sum0, f32x4.add(sum1, sum2)));
}

/** The correlation with the window that begins at a place of the other photo; 0 where that is featureless. */
function whole(left: i32, top: i32): f64 {
  const stride = (<usize>(wide + 1)) << 5;
  const a = sumTable + (<usize>top) * stride + ((<usize>left) << 5);
  const b = a + (<usize>side) * stride;
  const by = (<usize>side) << 5;
  const s01 = f64x2.add(f64x2.sub(v128.load(b + by), v128.load(b)), f64x2.sub(v128.load(a), v128.load(a + by)));
  const s23 = f64x2.add(f64x2.sub(v128.load(b + by, 16), v128.load(b, 16)), f64x2.sub(v128.load(a, 16), v128.load(a + by, 16)));
  const s0 = f64x2.extract_lane(s01, 0), s1 = f64x2.extract_lane(s01, 1), s2 = f64x2.extract_lane(s23, 0);
  const other = f64x2.extract_lane(s23, 1) - (<f64>weight0 * s0 * s0 + <f64>weight1 * s1 * s1 + <f64>weight2 * s2 * s2) / areaOf;
  const share = <f64>(thin * thin) / areaOf;
  return other > 1e-6 * areaOf ? <f64>product(left, top) / Math.sqrt(ownSize * other * share) : 0;
}

/** Lays the window's values (weighted), what is seen of it, and its weighted squares, for `partly`: zeros where it is not seen. */
function cutSeen(left: i32, top: i32): void {
  const length = (<usize>quads) << 4;
  memory.fill(template, 0, (<usize>thin) * 5 * length);
  for (let j = 0; j < thin; j++) {
    let at = ownImage + ((<usize>((top + STEP * j) * wide + left)) << 4);
    let to = template + (<usize>j) * 5 * length;
    for (let i = 0; i < thin; i++, at += STEP << 4, to += 4) {
      const v = v128.load(at);
      if (f32x4.extract_lane(v, 3) == 0) continue;
      const p = f32x4.extract_lane(v, 0), q = f32x4.extract_lane(v, 1), r = f32x4.extract_lane(v, 2);
      store<f32>(to, p);
      store<f32>(to + length, q);
      store<f32>(to + 2 * length, r);
      store<f32>(to + 3 * length, 1);
      store<f32>(to + 4 * length, weight0 * p * p + weight1 * q * q + weight2 * r * r);
    }
  }
}

/** Correlation over those pixels only that are seen in both; 0 when they are fewer than `seen` of the window. */
function partly(left: i32, top: i32, seen: f64): f64 {
  let at = splitPlanes + (<usize>((left & 1) * high + top)) * rowBytes + ((<usize>(left >> 1)) << 2);
  let from = template;
  const length = (<usize>quads) << 4;
  const w0 = f32x4.splat(weight0), w1 = f32x4.splat(weight1), w2 = f32x4.splat(weight2);
  const zero = f32x4.splat(0);
  let n = zero, a0 = zero, a1 = zero, a2 = zero, b0 = zero, b1 = zero, b2 = zero, aa = zero, bb = zero, ab = zero;
  for (let j = 0; j < thin; j++) {
    for (let by: usize = 0; by < length; by += 16) {
      const u0 = v128.load(from + by), u1 = v128.load(from + length + by), u2 = v128.load(from + 2 * length + by);
      const m = v128.load(from + 3 * length + by);
      const v0 = v128.load(at + by), v1 = v128.load(at + planeBytes + by), v2 = v128.load(at + 2 * planeBytes + by);
      const s = v128.load(at + 3 * planeBytes + by);
      const wv0 = f32x4.mul(w0, v0), wv1 = f32x4.mul(w1, v1), wv2 = f32x4.mul(w2, v2);
      n = f32x4.add(n, f32x4.mul(m, s));
      a0 = f32x4.add(a0, f32x4.mul(u0, s));
      a1 = f32x4.add(a1, f32x4.mul(u1, s));
      a2 = f32x4.add(a2, f32x4.mul(u2, s));
      b0 = f32x4.add(b0, f32x4.mul(v0, m));
      b1 = f32x4.add(b1, f32x4.mul(v1, m));
      b2 = f32x4.add(b2, f32x4.mul(v2, m));
      aa = f32x4.add(aa, f32x4.mul(v128.load(from + 4 * length + by), s));
      bb = f32x4.add(bb, f32x4.mul(m, f32x4.add(f32x4.mul(wv0, v0), f32x4.add(f32x4.mul(wv1, v1), f32x4.mul(wv2, v2)))));
      ab = f32x4.add(ab, f32x4.add(f32x4.mul(u0, wv0), f32x4.add(f32x4.mul(u1, wv1), f32x4.mul(u2, wv2))));
    }
    from += 5 * length;
    at += STEP * rowBytes;
  }
  const count = <f64>sumOf(n);
  const most = <f64>(thin * thin);
  if (count < seen * most) return 0;
  const sa0 = <f64>sumOf(a0), sa1 = <f64>sumOf(a1), sa2 = <f64>sumOf(a2), sb0 = <f64>sumOf(b0), sb1 = <f64>sumOf(b1), sb2 = <f64>sumOf(b2);
  const own = <f64>sumOf(aa) - (<f64>weight0 * sa0 * sa0 + <f64>weight1 * sa1 * sa1 + <f64>weight2 * sa2 * sa2) / count;
  const other = <f64>sumOf(bb) - (<f64>weight0 * sb0 * sb0 + <f64>weight1 * sb1 * sb1 + <f64>weight2 * sb2 * sb2) / count;
  const cross = <f64>sumOf(ab) - (<f64>weight0 * sa0 * sb0 + <f64>weight1 * sa1 * sb1 + <f64>weight2 * sa2 * sb2) / count;
  if (own < 1e-6 || other < 1e-6) return 0;
  return (cross / Math.sqrt(own * other)) * Math.sqrt(count / most);
}

// @ts-ignore: decorator
@inline
function correlationAt(left: i32, top: i32, isWhole: bool, seen: f64): f64 {
  if (isWhole) return whole(left, top);
  if (<f64>boxSeen(seenOther, left, top, side) < seen * areaOf) return 0;
  return partly(left, top, seen);
}

// @ts-ignore: decorator
@inline
function put(sx: i32, sy: i32, value: f64): void {
  store<f64>(surface + ((<usize>(sy * (2 * reachOf + 1) + sx)) << 3), value);
}

// @ts-ignore: decorator
@inline
function got(sx: i32, sy: i32): f64 {
  return load<f64>(surface + ((<usize>(sy * (2 * reachOf + 1) + sx)) << 3));
}

/**
 * Correlates the window whose top left pixel is (left0, top0) with every displacement within reach and leaves the surface, row by
 * row. Every other displacement first, then those beside one that came to `close` of the best (all of them where `least` is below 0).
 * Returns the best, or -2 where too little of the window is seen (`seen` of it when `cutOff`, else `mostly`) or nothing comes to `least`.
 */
export function search(left0: i32, top0: i32, cutOff: i32, least: f64, seen: f64, mostly: f64, close: f64): f64 {
  const seenHere = <f64>boxSeen(seenOwn, left0, top0, side);
  const wanted = cutOff ? seen : mostly;
  if (seenHere < wanted * areaOf) return -2;
  if (!cutOff && <f64>boxSeen(seenOther, left0, top0, side) < mostly * areaOf) return -2;
  const around = side + 2 * reachOf;
  const isWhole = !cutOff || (seenHere > areaOf - 0.5 && boxSeen(seenOther, left0 - reachOf, top0 - reachOf, around) == around * around);
  ownSize = <f64>cut(left0, top0);
  if (ownSize < 1e-6) return -2;
  if (!isWhole) cutSeen(left0, top0);
  const span = 2 * reachOf + 1;
  const left = left0 - reachOf, top = top0 - reachOf;
  let peak: f64 = -1;
  for (let sy = 0; sy < span; sy += 2) {
    for (let sx = 0; sx < span; sx += 2) {
      const correlation = correlationAt(left + sx, top + sy, isWhole, seen);
      put(sx, sy, correlation);
      if (correlation > peak) peak = correlation;
    }
  }
  if (peak < least) return -2;
  const limit = least > 0 ? close * peak : -1;
  const skips = peak > 0;
  for (let sy = 0; sy < span; sy++) {
    const first = (sy & 1) ^ 1;
    for (let sx = first; sx < span; sx += 1 + first) {
      if (skips) {
        // The best of the tried (even) displacements beside this one.
        const x0 = sx & ~1, x1 = min(span - 1, sx + (sx & 1)), y0 = sy & ~1, y1 = min(span - 1, sy + (sy & 1));
        if (max(max(got(x0, y0), got(x1, y0)), max(got(x0, y1), got(x1, y1))) < limit) {
          put(sx, sy, 0);
          continue;
        }
      }
      const correlation = correlationAt(left + sx, top + sy, isWhole, seen);
      put(sx, sy, correlation);
      if (correlation > peak) peak = correlation;
    }
  }
  return peak;
}

// ---- Making the copies and their planes ----

/**
 * Adds `rows` rows of a photo (three bytes a pixel, `width` pixels) to squares of `step` x `step` pixels: linear light by `table` (256
 * floats), four floats a square at `to`, `across` squares a row. What is left over at the right is left out.
 */
export function addSquares(bytes: usize, width: i32, rows: i32, step: i32, across: i32, table: usize, to: usize): void {
  for (let y = 0; y < rows; y++) {
    let at = bytes + <usize>(y * width * 3);
    let square = to + ((<usize>((y / step) * across)) << 4);
    for (let x = 0; x < across; x++, square += 16) {
      let r: f32 = 0, g: f32 = 0, b: f32 = 0;
      for (let k = 0; k < step; k++, at += 3) {
        r += load<f32>(table + ((<usize>load<u8>(at)) << 2));
        g += load<f32>(table + ((<usize>load<u8>(at, 1)) << 2));
        b += load<f32>(table + ((<usize>load<u8>(at, 2)) << 2));
      }
      store<f32>(square, load<f32>(square) + r);
      store<f32>(square, load<f32>(square, 4) + g, 4);
      store<f32>(square, load<f32>(square, 8) + b, 8);
    }
  }
}

/** Adds a row of `from` (`width` x four floats) to the pixels of `to` that `column` (a 32-bit number each) names, and counts in the fourth. */
export function addRow(from: usize, width: i32, column: usize, to: usize): void {
  for (let x = 0; x < width; x++) {
    const at = to + ((<usize>load<i32>(column + ((<usize>x) << 2))) << 4);
    v128.store(at, f32x4.add(v128.load(at), f32x4.replace_lane(v128.load(from + ((<usize>x) << 4)), 3, 1)));
  }
}

// Natural logarithms of four positive numbers, to about 1e-6.
// @ts-ignore: decorator
@inline
function logOf(v: v128): v128 {
  // Mantissa between the roots of a half and of two, so that its logarithm is small.
  const shifted = i32x4.sub(v, i32x4.splat(0x3f3504f3));
  const exponent = f32x4.convert_i32x4_s(i32x4.shr_s(shifted, 23));
  const m = i32x4.add(v128.and(shifted, i32x4.splat(0x7fffff)), i32x4.splat(0x3f3504f3));
  // log m = 2 artanh((m - 1) / (m + 1)), five terms of its series.
  const one = f32x4.splat(1);
  const s = f32x4.div(f32x4.sub(m, one), f32x4.add(m, one));
  const q = f32x4.mul(s, s);
  let sum = f32x4.splat(<f32>(1.0 / 9.0));
  sum = f32x4.add(f32x4.mul(sum, q), f32x4.splat(<f32>(1.0 / 7.0)));
  sum = f32x4.add(f32x4.mul(sum, q), f32x4.splat(<f32>(1.0 / 5.0)));
  sum = f32x4.add(f32x4.mul(sum, q), f32x4.splat(<f32>(1.0 / 3.0)));
  sum = f32x4.add(f32x4.mul(sum, q), one);
  return f32x4.add(f32x4.mul(exponent, f32x4.splat(<f32>Math.LN2)), f32x4.mul(f32x4.add(s, s), sum));
}

/** Lightness, red against green and blue against green of `count` pixels (a plane each at r, g, b), by logarithms of light + `dark`, as an image with 0 in the fourth. */
export function logs(r: usize, g: usize, b: usize, count: i32, dark: f32, to: usize): void {
  const offset = f32x4.splat(dark);
  for (let i = 0; i < count; i += 4) {
    const by = (<usize>i) << 2;
    const lr = logOf(f32x4.add(v128.load(r + by), offset)), lg = logOf(f32x4.add(v128.load(g + by), offset)), lb = logOf(f32x4.add(v128.load(b + by), offset));
    const light = f32x4.add(f32x4.mul(f32x4.splat(0.3), lr), f32x4.add(f32x4.mul(f32x4.splat(0.59), lg), f32x4.mul(f32x4.splat(0.11), lb)));
    const red = f32x4.sub(lr, lg), blue = f32x4.sub(lb, lg);
    const zero = f32x4.splat(0);
    // Four pixels of three planes become three (and a zero) of four pixels.
    const a = v128.shuffle<f32>(light, red, 0, 4, 1, 5), c = v128.shuffle<f32>(blue, zero, 0, 4, 1, 5);
    const d = v128.shuffle<f32>(light, red, 2, 6, 3, 7), e = v128.shuffle<f32>(blue, zero, 2, 6, 3, 7);
    const out = to + (by << 2);
    v128.store(out, v128.shuffle<f32>(a, c, 0, 1, 4, 5));
    v128.store(out, v128.shuffle<f32>(a, c, 2, 3, 6, 7), 16);
    v128.store(out, v128.shuffle<f32>(d, e, 0, 1, 4, 5), 32);
    v128.store(out, v128.shuffle<f32>(d, e, 2, 3, 6, 7), 48);
  }
}

/** Running mean of 2 radius + 1 values along the rows of an image, edges repeated. */
export function meanRows(from: usize, to: usize, w: i32, h: i32, radius: i32): void {
  const size = 2 * radius + 1;
  const share = f32x4.splat(1 / <f32>size);
  for (let y = 0; y < h; y++) {
    const row = from + ((<usize>(y * w)) << 4);
    const out = to + ((<usize>(y * w)) << 4);
    const last = (<usize>(w - 1)) << 4;
    let sum = f32x4.mul(v128.load(row), f32x4.splat(<f32>(radius + 1)));
    for (let x = 1; x <= radius; x++) sum = f32x4.add(sum, v128.load(row + min<usize>(last, (<usize>x) << 4)));
    for (let x = 0; x < w; x++) {
      v128.store(out + ((<usize>x) << 4), f32x4.mul(sum, share));
      const enter = x + radius + 1 < w ? (<usize>(x + radius + 1)) << 4 : last;
      const leave: usize = x > radius ? (<usize>(x - radius)) << 4 : 0;
      sum = f32x4.add(sum, f32x4.sub(v128.load(row + enter), v128.load(row + leave)));
    }
  }
}

/** The same down the columns; `sums` holds a row for the work. */
export function meanColumns(from: usize, to: usize, w: i32, h: i32, radius: i32, sums: usize): void {
  const size = 2 * radius + 1;
  const share = f32x4.splat(1 / <f32>size);
  const row = (<usize>w) << 4;
  const first = f32x4.splat(<f32>(radius + 1));
  for (let by: usize = 0; by < row; by += 16) v128.store(sums + by, f32x4.mul(v128.load(from + by), first));
  for (let y = 1; y <= radius; y++) {
    const at = from + <usize>min(h - 1, y) * row;
    for (let by: usize = 0; by < row; by += 16) v128.store(sums + by, f32x4.add(v128.load(sums + by), v128.load(at + by)));
  }
  for (let y = 0; y < h; y++) {
    const enter = from + <usize>min(h - 1, y + radius + 1) * row;
    const leave = from + <usize>max(0, y - radius) * row;
    const out = to + <usize>y * row;
    for (let by: usize = 0; by < row; by += 16) {
      const sum = v128.load(sums + by);
      v128.store(out + by, f32x4.mul(sum, share));
      v128.store(sums + by, f32x4.add(sum, f32x4.sub(v128.load(enter + by), v128.load(leave + by))));
    }
  }
}

/** Zeros where a place is not seen (a byte each), 1 in the fourth where it is. */
export function onlySeen(image: usize, seen: usize, count: i32, to: usize): void {
  for (let i = 0; i < count; i++) {
    const by = (<usize>i) << 4;
    v128.store(to + by, load<u8>(seen + <usize>i) ? f32x4.replace_lane(v128.load(image + by), 3, 1) : f32x4.splat(0));
  }
}

/** Takes the local level (its fourth says how much of it was seen) off what is seen. */
export function lessLevel(image: usize, level: usize, count: i32): void {
  for (let i = 0; i < count; i++) {
    const by = (<usize>i) << 4;
    const v = v128.load(image + by);
    if (f32x4.extract_lane(v, 3) == 0) continue;
    const l = v128.load(level + by);
    const mean = f32x4.div(l, f32x4.splat(f32x4.extract_lane(l, 3) + <f32>1e-6));
    v128.store(image + by, f32x4.replace_lane(f32x4.sub(v, mean), 3, 1));
  }
}

/** Multiplies the planes of an image. */
export function scale(image: usize, count: i32, s0: f32, s1: f32, s2: f32): void {
  const by4 = f32x4.replace_lane(f32x4.replace_lane(f32x4.replace_lane(f32x4.splat(1), 0, s0), 1, s1), 2, s2);
  for (let i = 0; i < count; i++) {
    const at = image + ((<usize>i) << 4);
    v128.store(at, f32x4.mul(v128.load(at), by4));
  }
}

/** Sum of an image's part (from left, top) times a template (cols x rows), every `step`-th value each way. */
export function dot(image: usize, w: i32, template: usize, cols: i32, rows: i32, left: i32, top: i32, step: i32): f32 {
  let a = f32x4.splat(0), b = f32x4.splat(0);
  const by = (<usize>step) << 4;
  for (let y = 0; y < rows; y += step) {
    let from = template + ((<usize>(y * cols)) << 4);
    let at = image + ((<usize>((top + y) * w + left)) << 4);
    let x = 0;
    for (; x + step < cols; x += 2 * step, from += 2 * by, at += 2 * by) {
      a = f32x4.add(a, f32x4.mul(v128.load(from), v128.load(at)));
      b = f32x4.add(b, f32x4.mul(v128.load(from + by), v128.load(at + by)));
    }
    if (x < cols) a = f32x4.add(a, f32x4.mul(v128.load(from), v128.load(at)));
  }
  return sumOf(f32x4.add(a, b));
}

// ---- Lasting points ----

/** Determinant of the Hessian of a plane (w x h floats) times `by`; zeros along the edges. */
export function hessian(from: usize, w: i32, h: i32, by: f32, to: usize): void {
  const row = (<usize>w) << 2;
  memory.fill(to, 0, row * <usize>h);
  const factor = f32x4.splat(by), quarter = f32x4.splat(0.25);
  for (let y = 1; y < h - 1; y++) {
    for (let x = 1; x < w - 1; x += 4) {
      // The last four may overlap those before: they come to the same.
      const at = from + <usize>y * row + ((<usize>min(x, w - 5)) << 2);
      const c = v128.load(at);
      const twice = f32x4.add(c, c);
      const xx = f32x4.sub(f32x4.add(v128.load(at - 4), v128.load(at, 4)), twice);
      const yy = f32x4.sub(f32x4.add(v128.load(at - row), v128.load(at + row)), twice);
      const xy = f32x4.mul(quarter, f32x4.sub(f32x4.add(v128.load(at + row, 4), v128.load(at - row - 4)), f32x4.add(v128.load(at + row - 4), v128.load(at - row, 4))));
      v128.store(to + (at - from), f32x4.mul(factor, f32x4.sub(f32x4.mul(xx, yy), f32x4.mul(xy, xy))));
    }
  }
}

/**
 * Places `margin` from the edges where a response is above `least` and above all its neighbours, also those a size below and above; of
 * equal ones the last counts. Writes 32-bit pixel numbers, at most `most`; returns how many.
 */
export function peaks(below: usize, here: usize, above: usize, w: i32, h: i32, margin: i32, least: f32, to: usize, most: i32): i32 {
  const row = (<usize>w) << 2;
  const floor = f32x4.splat(least);
  let n = 0;
  for (let y = margin; y < h - margin; y++) {
    for (let x = margin; x < w - margin; x += 4) {
      const by = <usize>y * row + ((<usize>x) << 2);
      const at = here + by;
      const v = v128.load(at);
      let mask = v128.and(f32x4.gt(v, floor), v128.and(f32x4.gt(v, v128.load(at - 4)), f32x4.ge(v, v128.load(at, 4))));
      mask = v128.and(mask, v128.and(f32x4.gt(v, v128.load(at - row)), f32x4.ge(v, v128.load(at + row))));
      if (!v128.any_true(mask)) continue;
      mask = v128.and(mask, v128.and(f32x4.gt(v, v128.load(at - row - 4)), f32x4.gt(v, v128.load(at - row, 4))));
      mask = v128.and(mask, v128.and(f32x4.ge(v, v128.load(at + row - 4)), f32x4.ge(v, v128.load(at + row, 4))));
      mask = v128.and(mask, v128.and(f32x4.gt(v, largestAround(below + by, row)), f32x4.ge(v, largestAround(above + by, row))));
      const bits = i32x4.bitmask(mask);
      if (bits == 0) continue;
      for (let k = 0; k < 4; k++) {
        if ((bits >> k) & 1 && x + k < w - margin && n < most) {
          store<i32>(to + ((<usize>n) << 2), y * w + x + k);
          n++;
        }
      }
    }
  }
  return n;
}

// @ts-ignore: decorator
@inline
function largestAround(at: usize, row: usize): v128 {
  const middle = f32x4.max(v128.load(at), f32x4.max(v128.load(at - 4), v128.load(at, 4)));
  const up = f32x4.max(v128.load(at - row), f32x4.max(v128.load(at - row - 4), v128.load(at - row, 4)));
  const down = f32x4.max(v128.load(at + row), f32x4.max(v128.load(at + row - 4), v128.load(at + row, 4)));
  return f32x4.max(middle, f32x4.max(up, down));
}

/** Cube roots of `count` positive numbers, to about 1e-6: a guess by the exponent's third, three steps of Newton. */
export function cubeRoots(values: usize, count: i32): void {
  const third = f32x4.splat(<f32>(1.0 / 3.0));
  for (let i = 0; i < count; i += 4) {
    const at = values + ((<usize>i) << 2);
    const x = v128.load(at);
    // 709921077 is two thirds of the bits of 1.
    let y = i32x4.add(i32x4.trunc_sat_f32x4_s(f32x4.mul(f32x4.convert_i32x4_s(x), third)), i32x4.splat(709921077));
    for (let k = 0; k < 3; k++) y = f32x4.sub(y, f32x4.mul(third, f32x4.sub(y, f32x4.div(x, f32x4.mul(y, y)))));
    v128.store(at, y);
  }
}

// ---- Dark patches ----

/** Mean green of squares of `step` x `step` pixels (three bytes each, `width` a row), a byte a square, `across` a row; `sums` holds a row for the work. */
export function greenSquares(bytes: usize, width: i32, rows: i32, step: i32, across: i32, sums: usize, to: usize): void {
  const area = step * step;
  for (let y = 0; y < rows; y += step) {
    memory.fill(sums, 0, (<usize>across) << 2);
    for (let j = 0; j < step; j++) {
      let at = bytes + <usize>((y + j) * width * 3 + 1);
      for (let x = 0; x < across; x++) {
        let sum = 0;
        for (let k = 0; k < step; k++, at += 3) sum += <i32>load<u8>(at);
        const to = sums + ((<usize>x) << 2);
        store<i32>(to, load<i32>(to) + sum);
      }
    }
    for (let x = 0; x < across; x++, to++) store<u8>(to, <u8>(load<i32>(sums + ((<usize>x) << 2)) / area));
  }
}

/**
 * 1 where a byte is clearly darker than the mean of the window of half-width `half` around it, else 0: below 85 % of it less 3.
 * `columns` holds a row of 32-bit sums for the work.
 */
export function darkBytes(grey: usize, w: i32, h: i32, half: i32, columns: usize, to: usize): void {
  memory.fill(columns, 0, (<usize>w) << 2);
  let rows = 0;
  for (; rows < min(half, h); rows++) addBytes(grey + <usize>(rows * w), w, columns, 1);
  for (let y = 0; y < h; y++) {
    if (y + half < h) {
      addBytes(grey + <usize>((y + half) * w), w, columns, 1);
      rows++;
    }
    if (y - half - 1 >= 0) {
      addBytes(grey + <usize>((y - half - 1) * w), w, columns, -1);
      rows--;
    }
    let sum = 0, n = 0;
    for (; n < min(half, w); n++) sum += load<i32>(columns + ((<usize>n) << 2));
    const row = grey + <usize>(y * w), out = to + <usize>(y * w);
    for (let x = 0; x < w; x++) {
      const at = columns + ((<usize>x) << 2);
      if (x + half < w) {
        sum += load<i32>(at + ((<usize>half) << 2));
        n++;
      }
      if (x - half - 1 >= 0) {
        sum -= load<i32>(at - ((<usize>(half + 1)) << 2));
        n--;
      }
      const places = n * rows;
      store<u8>(out + <usize>x, 20 * <i32>load<u8>(row + <usize>x) * places < 17 * sum - 60 * places ? 1 : 0);
    }
  }
}

/** Adds bytes, times 1 or -1, to 32-bit sums. */
function addBytes(bytes: usize, count: i32, sums: usize, sign: i32): void {
  let x = 0;
  const by = i32x4.splat(sign);
  for (; x + 4 <= count; x += 4) {
    const at = sums + ((<usize>x) << 2);
    const four = i32x4.extend_low_i16x8_u(i16x8.extend_low_i8x16_u(v128.load32_zero(bytes + <usize>x)));
    v128.store(at, i32x4.add(v128.load(at), i32x4.mul(four, by)));
  }
  for (; x < count; x++) {
    const at = sums + ((<usize>x) << 2);
    store<i32>(at, load<i32>(at) + sign * <i32>load<u8>(bytes + <usize>x));
  }
}
