/**
 * Gaussian smoothing that leaves out cells: each result is the weighted mean of the kept cells around it, so edges of the
 * plot and masked-out things do not bleed in. Only kept cells get a value, others NaN. `channels` are row-major, length
 * width * height each; `sigma` is in cells.
 */
export function smoothKept(channels: readonly Float32Array[], keep: Uint8Array, width: number, height: number, sigma: number): Float32Array[] {
  const weight = Float32Array.from(keep, (k) => (k ? 1 : 0));
  blur(weight, width, height, sigma);
  return channels.map((values) => {
    const out = new Float32Array(values.length);
    for (let i = 0; i < values.length; i++) if (keep[i]) out[i] = values[i]!;
    blur(out, width, height, sigma);
    for (let i = 0; i < out.length; i++) out[i] = keep[i] ? out[i]! / weight[i]! : NaN;
    return out;
  });
}

/** The weighted mean of kept cells for every cell, kept or not; NaN where none is near. */
export function spreadKept(values: Float32Array, keep: Uint8Array, width: number, height: number, sigma: number): Float32Array {
  const weight = Float32Array.from(keep, (k) => (k ? 1 : 0));
  const out = Float32Array.from(values, (v, i) => (keep[i] ? v : 0));
  blur(weight, width, height, sigma);
  blur(out, width, height, sigma);
  for (let i = 0; i < out.length; i++) out[i] = weight[i]! > 1e-3 ? out[i]! / weight[i]! : NaN;
  return out;
}

/**
 * Gaussian blur in place, zero outside the raster: the kernel itself (cut at 3 sigma) up to sigma 2, three running means
 * of the same variance above.
 * @see Kovesi 2010, Fast almost-Gaussian filtering, DICTA 2010:121-125 (widths of the means)
 */
export function blur(raster: Float32Array, width: number, height: number, sigma: number): void {
  if (sigma <= 0) return;
  const line = new Float64Array(Math.max(width, height));
  const spare = new Float64Array(line.length);
  const along = sigma > 2 ? runningMeans(sigma) : gaussian(sigma);
  for (let y = 0; y < height; y++) blurLine(raster, y * width, 1, width, along, line, spare);
  for (let x = 0; x < width; x++) blurLine(raster, x, width, height, along, line, spare);
}

type LineBlur = (line: Float64Array, spare: Float64Array, length: number) => void;

function gaussian(sigma: number): LineBlur {
  const radius = Math.max(1, Math.ceil(3 * sigma));
  const kernel = Float64Array.from({ length: 2 * radius + 1 }, (_, i) => Math.exp(-((i - radius) ** 2) / (2 * sigma * sigma)));
  const total = kernel.reduce((a, b) => a + b, 0);
  return (line, spare, length) => {
    for (let i = 0; i < length; i++) {
      const from = Math.max(0, i - radius);
      const to = Math.min(length - 1, i + radius);
      let sum = 0;
      for (let j = from; j <= to; j++) sum += line[j]! * kernel[j - i + radius]!;
      spare[i] = sum / total;
    }
    for (let i = 0; i < length; i++) line[i] = spare[i]!;
  };
}

function runningMeans(sigma: number): LineBlur {
  const passes = 3;
  const ideal = Math.sqrt((12 * sigma * sigma) / passes + 1);
  const odd = 2 * Math.floor((ideal - 1) / 2) + 1;
  const small = Math.round((12 * sigma * sigma - passes * odd * odd - 4 * passes * odd - 3 * passes) / (-4 * odd - 4));
  const radii = Array.from({ length: passes }, (_, k) => (odd - 1) / 2 + (k < small ? 0 : 1));
  return (line, spare, length) => {
    for (const radius of radii) {
      let sum = 0;
      for (let i = 0; i < Math.min(radius, length); i++) sum += line[i]!;
      for (let i = 0; i < length; i++) {
        if (i + radius < length) sum += line[i + radius]!;
        if (i - radius - 1 >= 0) sum -= line[i - radius - 1]!;
        spare[i] = sum / (2 * radius + 1);
      }
      for (let i = 0; i < length; i++) line[i] = spare[i]!;
    }
  };
}

function blurLine(raster: Float32Array, start: number, step: number, length: number, along: LineBlur, line: Float64Array, spare: Float64Array): void {
  for (let i = 0; i < length; i++) line[i] = raster[start + i * step]!;
  along(line, spare, length);
  for (let i = 0; i < length; i++) raster[start + i * step] = line[i]!;
}
