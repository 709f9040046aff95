import 'server-only';
import { cookies } from 'next/headers';
import { findLawn, listLawns, type Lawn } from '@/lib/diary/lawns';
import { lawnsToSee, rightHere } from '@/lib/work/people/rights';

export const lawnCookie = 'lawn';

/**
 * The lawn one is looking at: the one last chosen, else the first that is theirs to see; null in an empty diary, and
 * for whom there is none.
 */
export async function currentLawn(): Promise<Lawn | null> {
  const chosen = (await cookies()).get(lawnCookie)?.value;
  if (chosen && rightHere(chosen) !== undefined) {
    const lawn = await findLawn(chosen);
    if (lawn) return lawn;
  }
  return lawnsToSee(await listLawns())[0] ?? null;
}
