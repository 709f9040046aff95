/**
 * Gaussian smoothing that leaves out cells: each result is the weighted mean of the kept cells around it, so edges of
 * the plot and masked-out things do not bleed in. Only kept cells get a value, others NaN. `channels` are row-major,
 * length width * height each; `sigma` is in cells.
 */
export function smoothKept(
  channels: readonly Float32Array[],
  keep: Uint8Array,
  width: number,
  height: number,
  sigma: number,
): Float32Array[] {
  const weight = new Float32Array(keep.length);
  for (let i = 0; i < weight.length; i++) if (keep[i]) weight[i] = 1;
  blurInPlace(weight, width, height, sigma);
  return channels.map((values) => {
    const out = new Float32Array(values.length);
    for (let i = 0; i < out.length; i++) if (keep[i]) out[i] = values[i]!;
    blurInPlace(out, width, height, sigma);
    for (let i = 0; i < out.length; i++) out[i] = keep[i] ? out[i]! / weight[i]! : NaN;
    return out;
  });
}

/** The weighted mean of kept cells for every cell, kept or not; NaN where none is near. */
export function spreadKept(
  values: Float32Array,
  keep: Uint8Array,
  width: number,
  height: number,
  sigma: number,
): Float32Array {
  const weight = new Float32Array(keep.length);
  const out = new Float32Array(keep.length);
  for (let i = 0; i < out.length; i++) {
    if (!keep[i]) continue;
    weight[i] = 1;
    out[i] = values[i]!;
  }
  blurInPlace(weight, width, height, sigma);
  blurInPlace(out, width, height, sigma);
  for (let i = 0; i < out.length; i++) out[i] = weight[i]! > 1e-3 ? out[i]! / weight[i]! : NaN;
  return out;
}

/**
 * Gaussian blur in place, zero outside the raster: the kernel itself (cut at 3 sigma) up to sigma 2, three running
 * means of the same variance above.
 * Exported so that tests draw slow fields by it.
 * @see Kovesi 2010, Fast almost-Gaussian filtering, DICTA 2010:121-125 (widths of the means)
 */
export function blurInPlace(raster: Float32Array, width: number, height: number, sigma: number): void {
  if (sigma <= 0) return;
  const along = sigma > 2 ? runningMeans(sigma) : gaussian(sigma);
  // Zeros on both sides of a line, as far as any window reaches, spare asking where it ends.
  const pad = 1 + ('kernel' in along ? (along.kernel.length - 1) / 2 : Math.max(...along.radii));
  const line = new Float64Array(Math.max(width, height) + 2 * pad);
  const spare = new Float64Array(line.length);
  blurRows(raster, width, height, along, pad, line, spare);
  // Columns as rows of the turned raster: neighbours in memory, so the processor's cache helps.
  const turned = transposed(raster, width, height);
  blurRows(turned, height, width, along, pad, line.fill(0), spare.fill(0));
  raster.set(transposed(turned, height, width));
}

/** Half-widths of running means, or the kernel of a weighted mean. */
type LineBlur = { readonly radii: readonly number[] } | { readonly kernel: Float64Array };

function gaussian(sigma: number): LineBlur {
  const radius = Math.max(1, Math.ceil(3 * sigma));
  const kernel = Float64Array.from({ length: 2 * radius + 1 }, (_, i) =>
    Math.exp(-((i - radius) ** 2) / (2 * sigma * sigma)),
  );
  const total = kernel.reduce((a, b) => a + b, 0);
  return { kernel: kernel.map((v) => v / total) };
}

function runningMeans(sigma: number): LineBlur {
  const passes = 3;
  const ideal = Math.sqrt((12 * sigma * sigma) / passes + 1);
  const odd = 2 * Math.floor((ideal - 1) / 2) + 1;
  const small = Math.round((12 * sigma * sigma - passes * odd * odd - 4 * passes * odd - 3 * passes) / (-4 * odd - 4));
  return { radii: Array.from({ length: passes }, (_, k) => (odd - 1) / 2 + (k < small ? 0 : 1)) };
}

function blurRows(
  raster: Float32Array,
  width: number,
  height: number,
  along: LineBlur,
  pad: number,
  line: Float64Array,
  spare: Float64Array,
): void {
  for (let row = 0; row < width * height; row += width) {
    for (let x = 0; x < width; x++) line[pad + x] = raster[row + x]!;
    let [from, to] = [line, spare];
    if ('kernel' in along) {
      weigh(line, spare, pad, width, along.kernel);
      from = spare;
    } else {
      for (const radius of along.radii) {
        slideMean(from, to, pad, width, radius);
        [from, to] = [to, from];
      }
    }
    for (let x = 0; x < width; x++) raster[row + x] = from[pad + x]!;
  }
}

function slideMean(from: Float64Array, to: Float64Array, pad: number, length: number, radius: number): void {
  const share = 1 / (2 * radius + 1);
  let sum = 0;
  for (let i = pad; i < pad + Math.min(radius, length); i++) sum += from[i]!;
  for (let i = pad; i < pad + length; i++) {
    sum += from[i + radius]!;
    sum -= from[i - radius - 1]!;
    to[i] = sum * share;
  }
}

function weigh(from: Float64Array, to: Float64Array, pad: number, length: number, kernel: Float64Array): void {
  const radius = (kernel.length - 1) / 2;
  for (let i = pad; i < pad + length; i++) {
    let sum = 0;
    for (let j = 0, k = i - radius; j < kernel.length; j++, k++) sum += from[k]! * kernel[j]!;
    to[i] = sum;
  }
}

function transposed(raster: Float32Array, width: number, height: number): Float32Array {
  const out = new Float32Array(raster.length);
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0, k = y; x < width; x++, i++, k += height) out[k] = raster[i]!;
  }
  return out;
}
