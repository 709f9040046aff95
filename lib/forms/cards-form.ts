import { z } from 'zod';
import { LENGTH_UNITS, toM } from '@/lib/units/length';
import { amountField } from './fields';

/** How far outside the corners the pegs of plot cards stand, along each edge. */
export const CardsForm = z
  .object({ outside: amountField('How far outside the corners', LENGTH_UNITS, { min: 0, max: 1000 }) })
  .transform(({ outside }, context) => {
    const outsideM = toM(outside);
    if (outsideM <= 10) return { outsideM };
    context.addIssue({
      code: 'custom',
      path: ['outside'],
      message: `How far outside the corners: expected at most 10 m (32.8 ft), got ${outside.value} ${outside.unit}`,
    });
    return z.NEVER;
  });

const CardsQuery = z.object({
  trial: z
    .string()
    .regex(/^[a-z0-9]{8,40}$/)
    .optional()
    .catch(undefined),
  paper: z.enum(['a4', 'letter']).optional().catch(undefined),
});

/** Whose cards, and on what paper, from the address; what isn't understood counts as not said. */
export function readCardsQuery(query: Record<string, string | string[] | undefined>): z.infer<typeof CardsQuery> {
  return CardsQuery.parse(query);
}
