import 'server-only';

/**
 * What a HEIF file (HEIC, AVIF) says of its main picture, read from its boxes without decoding anything.
 * @see ISO/IEC 14496-12 (boxes, meta, iprp, ipma, pitm), ISO/IEC 23008-12 6.5 (ispe, irot), 14496-12 12.1.5 (colr)
 */
export interface HeifFacts {
  /** Size as stored, before any turn. */
  readonly width: number;
  readonly height: number;
  /** Whether its own turn (irot) is a quarter or three, so that width and height change places when upright. */
  readonly onItsSide: boolean;
  /** Embedded ICC profile, or null. */
  readonly icc: Uint8Array | null;
  /** Colour primaries and transfer by number (ITU-T H.273), or null: 1/13 is sRGB, 12/13 is Display P3. */
  readonly nclx: { readonly primaries: number; readonly transfer: number } | null;
}

interface Box {
  readonly type: string;
  readonly from: number;
  readonly to: number;
}

/**
 * @param bytes the file, or enough of its start to hold the meta box
 * @returns null when there is no readable main picture
 */
export function readHeifFacts(bytes: Uint8Array): HeifFacts | null {
  return unlessDamaged(() => readFacts(new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), bytes));
}

/** The EXIF block of the file, from its TIFF header on; null when there is none. @param bytes the whole file */
export function readHeifExif(bytes: Uint8Array): Uint8Array | null {
  return unlessDamaged(() => readExifItem(new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), bytes));
}

/** A reach beyond the file's end means that it is damaged. */
function unlessDamaged<T>(read: () => T | null): T | null {
  try {
    return read();
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function readFacts(view: DataView, bytes: Uint8Array): HeifFacts | null {
  const meta = boxes(view, 0, view.byteLength).find((box) => box.type === 'meta');
  if (meta === undefined) return null;
  const inMeta = boxes(view, meta.from + 4, meta.to);
  const pitm = inMeta.find((box) => box.type === 'pitm');
  const iprp = inMeta.find((box) => box.type === 'iprp');
  if (pitm === undefined || iprp === undefined) return null;
  const main = view.getUint8(pitm.from) === 0 ? view.getUint16(pitm.from + 4) : view.getUint32(pitm.from + 4);
  const inIprp = boxes(view, iprp.from, iprp.to);
  const ipco = inIprp.find((box) => box.type === 'ipco');
  if (ipco === undefined) return null;
  const properties = boxes(view, ipco.from, ipco.to);
  const own = inIprp
    .filter((box) => box.type === 'ipma')
    .flatMap((ipma) => associations(view, ipma, main))
    .map((index) => properties[index - 1])
    .filter((box) => box !== undefined);

  const ispe = own.find((box) => box.type === 'ispe');
  if (ispe === undefined) return null;
  let icc: Uint8Array | null = null;
  let nclx: HeifFacts['nclx'] = null;
  for (const colr of own.filter((box) => box.type === 'colr')) {
    const kind = fourcc(view, colr.from);
    if (kind === 'prof' || kind === 'rICC') icc = bytes.slice(colr.from + 4, colr.to);
    if (kind === 'nclx') nclx = { primaries: view.getUint16(colr.from + 4), transfer: view.getUint16(colr.from + 6) };
  }
  const irot = own.find((box) => box.type === 'irot');
  const onItsSide = irot !== undefined && view.getUint8(irot.from) % 2 === 1;
  return { width: view.getUint32(ispe.from + 4), height: view.getUint32(ispe.from + 8), onItsSide, icc, nclx };
}

/** The boxes between two places; from and to enclose a box's content. A box that runs past the end is cut there. */
function boxes(view: DataView, from: number, to: number): Box[] {
  const out: Box[] = [];
  let at = from;
  while (at + 8 <= to) {
    let size = view.getUint32(at);
    let head = 8;
    if (size === 1) {
      size = Number(view.getBigUint64(at + 8));
      head = 16;
    } else if (size === 0) size = to - at;
    if (size < head) break;
    out.push({ type: fourcc(view, at + 4), from: at + head, to: Math.min(to, at + size) });
    at += size;
  }
  return out;
}

function fourcc(view: DataView, at: number): string {
  return String.fromCharCode(view.getUint8(at), view.getUint8(at + 1), view.getUint8(at + 2), view.getUint8(at + 3));
}

/** Which properties (counted from 1) belong to an item. */
function associations(view: DataView, ipma: Box, item: number): number[] {
  const version = view.getUint8(ipma.from);
  const wide = (view.getUint8(ipma.from + 3) & 1) === 1;
  const entries = view.getUint32(ipma.from + 4);
  let at = ipma.from + 8;
  for (let entry = 0; entry < entries && at < ipma.to; entry++) {
    const id = version < 1 ? view.getUint16(at) : view.getUint32(at);
    at += version < 1 ? 2 : 4;
    const count = view.getUint8(at);
    at += 1;
    const indices = Array.from({ length: count }, (_, i) =>
      wide ? view.getUint16(at + 2 * i) & 0x7fff : view.getUint8(at + i) & 0x7f,
    );
    if (id === item) return indices;
    at += count * (wide ? 2 : 1);
  }
  return [];
}

function readExifItem(view: DataView, bytes: Uint8Array): Uint8Array | null {
  const meta = boxes(view, 0, view.byteLength).find((box) => box.type === 'meta');
  if (meta === undefined) return null;
  const inMeta = boxes(view, meta.from + 4, meta.to);
  const iinf = inMeta.find((box) => box.type === 'iinf');
  const iloc = inMeta.find((box) => box.type === 'iloc');
  if (iinf === undefined || iloc === undefined) return null;
  const item = exifItem(view, iinf);
  const place = item === null ? null : firstExtent(view, iloc, item);
  if (place === null) return null;
  // ISO/IEC 23008-12 A.2.1: four bytes say how far behind them the TIFF header stands.
  const start = place.offset + 4 + view.getUint32(place.offset);
  const end = place.offset + place.length;
  return start < end && end <= bytes.length ? bytes.subarray(start, end) : null;
}

/** The number of the item of type 'Exif' (item info entries of version 2 and 3 name their type). */
function exifItem(view: DataView, iinf: Box): number | null {
  const countBytes = view.getUint8(iinf.from) === 0 ? 2 : 4;
  for (const infe of boxes(view, iinf.from + 4 + countBytes, iinf.to)) {
    const version = view.getUint8(infe.from);
    if (infe.type !== 'infe' || version < 2) continue;
    const wide = version === 3;
    if (fourcc(view, infe.from + (wide ? 10 : 8)) === 'Exif')
      return wide ? view.getUint32(infe.from + 4) : view.getUint16(infe.from + 4);
  }
  return null;
}

/** Where an item's bytes lie in the file, when they lie there in one piece (construction method 0). */
function firstExtent(view: DataView, iloc: Box, item: number): { offset: number; length: number } | null {
  const version = view.getUint8(iloc.from);
  const sizes = view.getUint16(iloc.from + 4);
  const [offsetSize, lengthSize, baseSize] = [sizes >> 12, (sizes >> 8) & 15, (sizes >> 4) & 15];
  const indexSize = version === 0 ? 0 : sizes & 15;
  let at = iloc.from + 6;
  const take = (size: number): number => {
    const value =
      size === 0
        ? 0
        : size === 2
          ? view.getUint16(at)
          : size === 4
            ? view.getUint32(at)
            : Number(view.getBigUint64(at));
    at += size;
    return value;
  };
  const items = take(version < 2 ? 2 : 4);
  for (let i = 0; i < items && at < iloc.to; i++) {
    const id = take(version < 2 ? 2 : 4);
    const method = version === 0 ? 0 : take(2) & 15;
    take(2);
    const base = take(baseSize);
    const extents = take(2);
    let found: { offset: number; length: number } | null = null;
    for (let e = 0; e < extents; e++) {
      take(indexSize);
      found = { offset: base + take(offsetSize), length: take(lengthSize) };
    }
    if (id === item) return method === 0 && extents === 1 ? found : null;
  }
  return null;
}
