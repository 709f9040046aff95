/** Encodings a table of text comes in. 'windows-1252' holds all of latin1 that is printable. */
export const TEXT_ENCODINGS = ['utf-8', 'utf-16le', 'utf-16be', 'windows-1252'] as const;
export type TextEncoding = (typeof TEXT_ENCODINGS)[number];

/**
 * The encoding of a text by its first bytes: a byte-order mark, else zero bytes on one side (UTF-16), else valid UTF-8,
 * else windows-1252. A sequence cut at the end of `head` counts as valid.
 */
export function sniffEncoding(head: Uint8Array): TextEncoding {
  if (head[0] === 0xff && head[1] === 0xfe) return 'utf-16le';
  if (head[0] === 0xfe && head[1] === 0xff) return 'utf-16be';
  const pairs = Math.min(head.length, 2000) >> 1;
  let evenZero = 0;
  let oddZero = 0;
  for (let i = 0; i < pairs; i += 1) {
    if (head[2 * i] === 0) evenZero += 1;
    if (head[2 * i + 1] === 0) oddZero += 1;
  }
  if (pairs > 4 && oddZero > pairs * 0.6 && evenZero < pairs * 0.1) return 'utf-16le';
  if (pairs > 4 && evenZero > pairs * 0.6 && oddZero < pairs * 0.1) return 'utf-16be';
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(head, { stream: true });
    return 'utf-8';
  } catch {
    return 'windows-1252'; // the decoder's way of saying that it is not UTF-8
  }
}

/** Text of a stream of bytes, piece by piece, without the byte-order mark. */
export async function* decodeText(
  source: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  encoding: TextEncoding,
): AsyncGenerator<string> {
  const decoder = new TextDecoder(encoding);
  for await (const bytes of source) yield decoder.decode(bytes, { stream: true });
  yield decoder.decode();
}
