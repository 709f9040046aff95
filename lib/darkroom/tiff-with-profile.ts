import 'server-only';

/**
 * Raw RGBA pixels and an ICC profile as an uncompressed TIFF, the plainest file that carries both, so that the one
 * decoder applies the profile as it does for every other photo.
 * @param rgba four bytes a pixel, row-major
 * @see TIFF 6.0 section 2 and section 18 (ExtraSamples); tag 34675 InterColorProfile: ICC.1:2010 annex B.4
 */
export function withProfile(rgba: Uint8Array, width: number, height: number, icc: Uint8Array): Uint8Array {
  const ENTRIES = 11;
  const ifdAt = 8;
  const bitsAt = ifdAt + 2 + ENTRIES * 12 + 4;
  const iccAt = bitsAt + 8;
  const pixelsAt = iccAt + icc.length + (icc.length % 2);
  const file = new Uint8Array(pixelsAt + rgba.length);
  const view = new DataView(file.buffer);
  const littleEndian = true;
  file.set([0x49, 0x49, 42, 0]);
  view.setUint32(4, ifdAt, littleEndian);
  view.setUint16(ifdAt, ENTRIES, littleEndian);
  const SHORT = 3;
  const LONG = 4;
  const UNDEFINED = 7;
  const entries: readonly (readonly [tag: number, type: number, count: number, value: number])[] = [
    [256, LONG, 1, width],
    [257, LONG, 1, height],
    [258, SHORT, 4, bitsAt],
    [259, SHORT, 1, 1], // no compression
    [262, SHORT, 1, 2], // RGB
    [273, LONG, 1, pixelsAt],
    [277, SHORT, 1, 4], // samples a pixel
    [278, LONG, 1, height],
    [279, LONG, 1, rgba.length],
    [338, SHORT, 1, 2], // the fourth sample is unassociated alpha
    [34675, UNDEFINED, icc.length, iccAt],
  ];
  entries.forEach(([tag, type, count, value], i) => {
    const at = ifdAt + 2 + i * 12;
    view.setUint16(at, tag, littleEndian);
    view.setUint16(at + 2, type, littleEndian);
    view.setUint32(at + 4, count, littleEndian);
    if (type === SHORT && count === 1) view.setUint16(at + 8, value, littleEndian);
    else view.setUint32(at + 8, value, littleEndian);
  });
  for (let i = 0; i < 4; i++) view.setUint16(bitsAt + 2 * i, 8, littleEndian);
  file.set(icc, iccAt);
  file.set(rgba, pixelsAt);
  return file;
}
