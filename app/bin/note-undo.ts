import 'server-only';
import { cookies } from 'next/headers';
import type { BinKind } from '@/lib/diary/bin';

export const undoCookie = 'undo';

/**
 * Remembers for a minute what was just moved to the bin, so that the next page can offer to undo it: that page takes
 * the note away again, so a script must be able to read it. Call it in a server action.
 */
export async function noteUndo(kind: BinKind, id: string): Promise<void> {
  (await cookies()).set(undoCookie, `${kind}:${id}`, { maxAge: 60, sameSite: 'lax', httpOnly: false });
}
