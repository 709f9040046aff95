import { z } from 'zod';

const Query = z.object({ from: z.coerce.date().optional().catch(undefined), to: z.coerce.date().optional().catch(undefined) });

/** The span a page is asked to show; without one, everything up to now. */
export function readSeasonQuery(search: Record<string, string | string[] | undefined>, now: Date): { from: Date; to: Date } {
  const { from, to } = Query.parse(search);
  return { from: from ?? new Date(0), to: to ?? new Date(now.getTime() + 86_400_000) };
}
