/**
 * Gaussian smoothing of one channel that leaves out cells: each result is the weighted mean of the kept cells
 * around it, so edges of the plot and masked-out things do not bleed in. Cells with no kept neighbour get NaN.
 * `values` and `keep` are row-major, length width * height; `sigma` is in cells.
 */
export function smoothKept(values: Float32Array, keep: Uint8Array, width: number, height: number, sigma: number): Float32Array {
  const weighted = new Float32Array(values.length);
  const weight = new Float32Array(values.length);
  for (let i = 0; i < values.length; i++) {
    if (!keep[i]) continue;
    weighted[i] = values[i]!;
    weight[i] = 1;
  }
  blur(weighted, width, height, sigma);
  blur(weight, width, height, sigma);
  const out = new Float32Array(values.length);
  for (let i = 0; i < out.length; i++) out[i] = weight[i]! > 1e-3 ? weighted[i]! / weight[i]! : NaN;
  return out;
}

/**
 * Gaussian blur in place, zero outside the raster, the kernel cut at 3 sigma.
 * `sigma` in cells; 0 leaves the raster as it is.
 */
export function blur(raster: Float32Array, width: number, height: number, sigma: number): void {
  if (sigma <= 0) return;
  const kernel = gaussianKernel(sigma);
  const line = new Float32Array(Math.max(width, height));
  for (let y = 0; y < height; y++) blurLine(raster, y * width, 1, width, kernel, line);
  for (let x = 0; x < width; x++) blurLine(raster, x, width, height, kernel, line);
}

function gaussianKernel(sigma: number): Float32Array {
  const radius = Math.max(1, Math.ceil(3 * sigma));
  const kernel = Float32Array.from({ length: 2 * radius + 1 }, (_, i) => Math.exp(-((i - radius) ** 2) / (2 * sigma * sigma)));
  const total = kernel.reduce((a, b) => a + b, 0);
  return kernel.map((k) => k / total);
}

function blurLine(raster: Float32Array, start: number, step: number, length: number, kernel: Float32Array, line: Float32Array): void {
  const radius = (kernel.length - 1) / 2;
  for (let i = 0; i < length; i++) line[i] = raster[start + i * step]!;
  for (let i = 0; i < length; i++) {
    const from = Math.max(0, i - radius);
    const to = Math.min(length - 1, i + radius);
    let sum = 0;
    for (let j = from; j <= to; j++) sum += line[j]! * kernel[j - i + radius]!;
    raster[start + i * step] = sum;
  }
}
