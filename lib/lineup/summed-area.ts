import 'server-only';

/** Summed-area table, (w + 1) x (h + 1): sums over any rectangle by four look-ups. */
export function summedArea(from: Float32Array | Uint8Array, w: number, h: number): Float64Array {
  const table = new Float64Array((w + 1) * (h + 1));
  for (let y = 0; y < h; y++) {
    let row = 0;
    for (let x = 0; x < w; x++) {
      row += from[y * w + x]!;
      table[(y + 1) * (w + 1) + x + 1] = table[y * (w + 1) + x + 1]! + row;
    }
  }
  return table;
}
