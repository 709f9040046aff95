import { z } from 'zod';

/** The name of a kept archive, as it stands in an address. */
export const ArchiveName = z
  .string()
  .regex(/^swathbook-\d{8}T\d{6}Z\.zip$/, 'Expected the name of a kept archive, got something else.');

/**
 * One range of bytes as a Range header asks for it, both ends inclusive; null when the whole is asked for (or in a way
 * that may be answered so), 'outside' when it lies past the end.
 * @see RFC 9110 14.1.2
 */
export function readRange(header: string | null, bytes: number): { from: number; to: number } | 'outside' | null {
  const match = /^bytes=(\d*)-(\d*)$/.exec(header ?? '');
  if (!match || (match[1] === '' && match[2] === '')) return null;
  const from = match[1] === '' ? Math.max(0, bytes - Number(match[2])) : Number(match[1]);
  const to = match[1] === '' || match[2] === '' ? bytes - 1 : Math.min(bytes - 1, Number(match[2]));
  if (match[1] !== '' && match[2] !== '' && Number(match[2]) < from) return null;
  return from >= bytes || to < from ? 'outside' : { from, to };
}
