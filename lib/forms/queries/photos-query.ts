import { z } from 'zod';
import { addressInstant } from '../fields';

const Query = z.object({
  viewpoint: z
    .string()
    .regex(/^[a-z0-9]{8,40}$/)
    .optional()
    .catch(undefined),
  before: addressInstant.optional().catch(undefined),
});

/** What the photos page's address asks for; anything unreadable counts as not asked. */
export function readPhotosQuery(search: Record<string, string | string[] | undefined>): {
  viewpointId?: string;
  before?: Date;
} {
  const { viewpoint, before } = Query.parse(search);
  return { ...(viewpoint ? { viewpointId: viewpoint } : {}), ...(before ? { before } : {}) };
}
