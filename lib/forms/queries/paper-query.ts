import type { UnitSystem } from '@/lib/units/display';
import { z } from 'zod';

const Paper = z.enum(['a4', 'a5', 'letter']);

/** Paper of a printed card, from the address; else the reader's usual one: Letter in US units, A4 in metric ones. */
export function readPaper(
  query: Record<string, string | string[] | undefined>,
  system: UnitSystem,
): z.infer<typeof Paper> {
  return Paper.catch(system === 'metric' ? 'a4' : 'letter').parse(query['paper']);
}
