import { z } from 'zod';

const Query = z.object({
  x: z.string().max(80).optional().catch(undefined),
  colour: z.string().max(80).optional().catch(undefined),
  days: z.enum(['3', '7', '14']).catch('7').transform(Number),
  plot: z.string().max(40).optional().catch(undefined),
  product: z.string().max(40).optional().catch(undefined),
  alone: z.literal('yes').optional().catch(undefined),
});

export type ResponseQuery = z.infer<typeof Query>;

/** What the response page is asked to hold the colour against. */
export function readResponseQuery(search: Record<string, string | string[] | undefined>): ResponseQuery {
  return Query.parse(search);
}
