import 'server-only';
import { cookies } from 'next/headers';
import { findLawn, listLawns, type Lawn } from '@/lib/diary/lawns';

export const lawnCookie = 'lawn';

/** The lawn one is looking at: the one last chosen, else the first; null in an empty diary. */
export async function currentLawn(): Promise<Lawn | null> {
  const chosen = (await cookies()).get(lawnCookie)?.value;
  if (chosen) {
    const lawn = await findLawn(chosen);
    if (lawn) return lawn;
  }
  return (await listLawns())[0] ?? null;
}
