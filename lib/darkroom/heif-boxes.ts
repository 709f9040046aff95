import 'server-only';

/**
 * What a HEIF file (HEIC, AVIF) says of its main picture, read from its boxes without decoding anything.
 * @see ISO/IEC 14496-12 (boxes, meta, iprp, ipma, pitm), ISO/IEC 23008-12 6.5 (ispe, irot), 14496-12 12.1.5 (colr)
 */
export interface HeifFacts {
  /** Size as stored, before any turn. */
  readonly width: number;
  readonly height: number;
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

/** @param bytes the file, or enough of its start to hold the meta box @returns null when there is no readable main picture */
export function readHeifFacts(bytes: Uint8Array): HeifFacts | null {
  try {
    return readFacts(bytes);
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function readFacts(bytes: Uint8Array): HeifFacts | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
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
  return { width: view.getUint32(ispe.from + 4), height: view.getUint32(ispe.from + 8), icc, nclx };
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
    const indices = Array.from({ length: count }, (_, i) => (wide ? view.getUint16(at + 2 * i) & 0x7fff : view.getUint8(at + i) & 0x7f));
    if (id === item) return indices;
    at += count * (wide ? 2 : 1);
  }
  return [];
}
