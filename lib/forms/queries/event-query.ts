import { z } from 'zod';
import { LAWN_EVENT_KINDS, type LawnEventKind } from '@/lib/trial/lawn-event';
import { idField } from '../fields';

const Query = z.object({ kind: z.enum(LAWN_EVENT_KINDS).catch('mowing'), plot: idField.optional().catch(undefined) });

/**
 * Which short entry the address asks for, and on which plot; mowing of the whole lawn where it says nothing that can be
 * read.
 */
export function readEventQuery(search: Record<string, string | string[] | undefined>): {
  kind: LawnEventKind;
  plotId: string | null;
} {
  const { kind, plot } = Query.parse(search);
  return { kind, plotId: plot ?? null };
}
