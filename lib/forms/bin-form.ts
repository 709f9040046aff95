import { z } from 'zod';
import { idField } from './fields';

/** Which entry of the bin is meant. */
export const BinForm = z.object({
  kind: z.enum(
    ['spray', 'photo', 'product', 'trial', 'plot', 'event'],
    'Kind: expected spray, photo, product, trial, plot or event',
  ),
  id: idField,
});

/** The word "kind:id" of the last entry moved to the bin, or null when it says nothing of use. */
export function readUndo(text: string | undefined): z.output<typeof BinForm> | null {
  const [kind, id] = (text ?? '').split(':');
  const parsed = BinForm.safeParse({ kind, id });
  return parsed.success ? parsed.data : null;
}
