import { z } from 'zod';
import { addressInstant } from '../fields';

const Query = z.object({
  show: z.enum(['all', 'sprays', 'photos', 'events']).catch('all'),
  plot: z
    .string()
    .regex(/^[a-z0-9]{8,40}$/)
    .optional()
    .catch(undefined),
  before: addressInstant.optional().catch(undefined),
});

/** What the diary page's address asks for; anything unreadable counts as not asked. */
export function readDiaryQuery(search: Record<string, string | string[] | undefined>): {
  show: 'all' | 'sprays' | 'photos' | 'events';
  plotId?: string;
  before?: Date;
} {
  const { show, plot, before } = Query.parse(search);
  return { show, ...(plot ? { plotId: plot } : {}), ...(before ? { before } : {}) };
}
