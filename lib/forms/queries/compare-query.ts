import { z } from 'zod';
import { idField } from '../fields';

const Query = z.object({
  viewpoint: idField,
  before: idField.optional().catch(undefined),
  after: idField.optional().catch(undefined),
});

/** Which two photos of which viewpoint; null when no viewpoint is named. */
export function readCompareQuery(search: Record<string, string | string[] | undefined>): z.infer<typeof Query> | null {
  const parsed = Query.safeParse(search);
  return parsed.success ? parsed.data : null;
}
