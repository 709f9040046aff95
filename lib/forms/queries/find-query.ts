import { z } from 'zod';
import { MARK_KINDS } from '@/lib/photo/marks/kind';

const findKinds = ['all', 'sprays', 'photos', 'marks', 'trials', 'events'] as const;

const day = z.iso.date().nullable().catch(null);

const Query = z.object({
  q: z.string().trim().max(120).catch(''),
  in: z.enum(findKinds).catch('all'),
  from: day,
  to: day,
  kind: z.enum(MARK_KINDS).nullable().catch(null),
  state: z.enum(['open', 'confirmed', 'dismissed']).nullable().catch(null),
});

/** What the find page's address asks for; anything unreadable counts as not asked. Dates are local, both inside. */
export function readFindQuery(search: Record<string, string | string[] | undefined>) {
  return Query.parse(search);
}

const Month = z.string().regex(/^(19|20|21)\d{2}-(0[1-9]|1[0-2])$/);

/** The month the calendar is asked to end with, YYYY-MM, or null. */
export function readCalendarQuery(search: Record<string, string | string[] | undefined>): string | null {
  const parsed = Month.safeParse(search['month']);
  return parsed.success ? parsed.data : null;
}
