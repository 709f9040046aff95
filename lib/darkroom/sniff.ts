import 'server-only';

export type PhotoKind = 'jpeg' | 'png' | 'webp' | 'tiff' | 'avif' | 'heic';

/** The kinds in words, for sentences. */
export const PHOTO_KINDS_IN_WORDS = 'JPEG, PNG, WebP, TIFF, AVIF or HEIC';

/** What each kind is stored and served as. */
export const KIND_FACTS: Record<PhotoKind, { extension: string; mediaType: string }> = {
  jpeg: { extension: 'jpg', mediaType: 'image/jpeg' },
  png: { extension: 'png', mediaType: 'image/png' },
  webp: { extension: 'webp', mediaType: 'image/webp' },
  tiff: { extension: 'tif', mediaType: 'image/tiff' },
  avif: { extension: 'avif', mediaType: 'image/avif' },
  heic: { extension: 'heic', mediaType: 'image/heic' },
};

/** How many bytes of a file's start `sniff` wants to see. */
export const SNIFF_BYTES = 64;

/**
 * The kind of picture a file holds, by its first bytes alone; a name or a sender's word counts for nothing.
 * @param head the first SNIFF_BYTES bytes, or all when there are fewer
 * @returns null when it is none of the kinds taken here
 * @see ISO/IEC 10918-1 (JPEG SOI), ISO/IEC 15948 5.2 (PNG), RFC 9649 2.4 (WebP), TIFF 6.0 section 2, BigTIFF,
 *   ISO/IEC 14496-12 4.3 (ftyp), ISO/IEC 23008-12 annex B (HEIF brands), AV1 Image File Format 6 (avif, avis)
 */
export function sniff(head: Uint8Array): PhotoKind | null {
  if (startsWith(head, [0xff, 0xd8, 0xff])) return 'jpeg';
  if (startsWith(head, [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a])) return 'png';
  if (text(head, 0, 4) === 'RIFF' && text(head, 8, 12) === 'WEBP') return 'webp';
  const tiff = [
    [0x49, 0x49, 0x2a, 0],
    [0x4d, 0x4d, 0, 0x2a],
    [0x49, 0x49, 0x2b, 0],
    [0x4d, 0x4d, 0, 0x2b],
  ];
  if (tiff.some((magic) => startsWith(head, magic))) return 'tiff';
  if (text(head, 4, 8) === 'ftyp') return ofBrands(head);
  return null;
}

/** The major brand decides; a general one (mif1, msf1) leaves it to the compatible brands. */
function ofBrands(head: Uint8Array): PhotoKind | null {
  const boxEnd = Math.min(head.length, new DataView(head.buffer, head.byteOffset, head.byteLength).getUint32(0));
  const brands = [text(head, 8, 12)];
  for (let at = 16; at + 4 <= boxEnd; at += 4) brands.push(text(head, at, at + 4));
  const major = kindOfBrand(brands[0] as string);
  if (major !== null) return major;
  if (brands[0] !== 'mif1' && brands[0] !== 'msf1') return null;
  return brands.map(kindOfBrand).find((kind) => kind !== null) ?? null;
}

function kindOfBrand(brand: string): PhotoKind | null {
  if (brand === 'avif' || brand === 'avis') return 'avif';
  return ['heic', 'heix', 'hevc', 'hevx', 'heim', 'heis'].includes(brand) ? 'heic' : null;
}

function startsWith(head: Uint8Array, magic: readonly number[]): boolean {
  return magic.every((byte, i) => head[i] === byte);
}

function text(head: Uint8Array, from: number, to: number): string {
  return String.fromCharCode(...head.subarray(from, to));
}

/** What a file that is no photo seems to be, for the sentence that refuses it. */
export function describeOther(head: Uint8Array): string {
  if (head.length === 0) return 'an empty file';
  if (text(head, 0, 4) === 'GIF8') return 'a GIF';
  if (text(head, 0, 4) === '%PDF') return 'a PDF';
  if (startsWith(head, [0x50, 0x4b, 3, 4])) return 'a ZIP archive';
  if (text(head, 0, 2) === 'BM') return 'a BMP';
  if (text(head, 4, 8) === 'ftyp') return 'a video or an unknown kind of HEIF file';
  const printable = [...head].every(
    (byte) => (byte >= 32 && byte < 127) || byte === 9 || byte === 10 || byte === 13 || byte >= 128,
  );
  return printable ? 'text' : 'an unknown kind of file';
}
