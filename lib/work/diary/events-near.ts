import 'server-only';
import { listEvents } from '@/lib/diary/lawn-events';

import type { LawnEvent } from '@/lib/trial/lawn-event';
import { sharingGround } from '../photos/ground-of';

/**
 * What happened to plots in [from, to), oldest first: events on them, on ground they share, and on the whole lawn.
 * @param plotIds the plots asked about
 */
export async function eventsNear(
  lawnId: string,
  plotIds: readonly string[],
  from: Date,
  to: Date,
): Promise<LawnEvent[]> {
  const { known } = await sharingGround(lawnId, plotIds);
  return (await listEvents(lawnId, { from, to, plotIds: known })).reverse();
}
