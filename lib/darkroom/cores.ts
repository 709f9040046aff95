import 'server-only';
import { availableParallelism } from 'node:os';

// One a process, whichever bundle asks.
const shared = globalThis as { swathbookServesPages?: boolean };

/** From here on this process serves pages: work on photos leaves one processor to them. */
export function leaveACoreToPages(): void {
  shared.swathbookServesPages = true;
}

/** How many photos may be worked on at once: one a processor, less the one that pages are made on; at least one. */
export function coresForPhotos(): number {
  return Math.max(1, availableParallelism() - (shared.swathbookServesPages === true ? 1 : 0));
}
