import { z } from 'zod';
import { addressInstant } from '../fields';

/** A whole day as date inputs send it, or an instant; anything unreadable counts as not asked. */
const day = addressInstant.optional().catch(undefined);
const Query = z.object({ from: day, to: day });

/** The span a page is asked to show; an end that isn't asked for is null. */
export function readSeasonQuery(search: Record<string, string | string[] | undefined>): {
  from: Date | null;
  to: Date | null;
} {
  const { from, to } = Query.parse({
    ...(search['from'] ? { from: search['from'] } : {}),
    ...(search['to'] ? { to: search['to'] } : {}),
  });
  return { from: from ?? null, to: to ?? null };
}
