import { z } from 'zod';

const Paper = z.enum(['a5', 'letter']).catch('letter');

/** Paper of a printed card, from the address; letter when it isn't one of the two. */
export function readPaper(query: Record<string, string | string[] | undefined>): z.infer<typeof Paper> {
  return Paper.parse(query['paper']);
}
