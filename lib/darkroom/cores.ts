import 'server-only';
import { availableParallelism } from 'node:os';

// One a process, whichever bundle asks.
const shared = globalThis as { swathbookServesPages?: boolean };

/** From here on this process serves pages: work on photos leaves one processor to them. */
export function leaveACoreToPages(): void {
  shared.swathbookServesPages = true;
}

/**
 * How many photos may be worked on at once, and threads one is decoded on: one a processor, less the one that pages are
 * made on, or SWATHBOOK_THREADS where that is fewer; at least one.
 */
export function coresForPhotos(): number {
  const free = availableParallelism() - (shared.swathbookServesPages === true ? 1 : 0);
  return Math.max(1, Math.min(free, Number(process.env['SWATHBOOK_THREADS'] ?? free)));
}
