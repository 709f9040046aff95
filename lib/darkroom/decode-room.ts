import 'server-only';
import { coresForPhotos } from './cores';
import { PhotoRefused } from './refused';

/**
 * Opening photos takes memory, and many come at once: they wait here for room, in their order. One queue a process;
 * whoever sends a photo to a worker's thread takes the room for it, since threads share the process's memory.
 */
const MB = 1_000_000;
/** What opened photos may hold together: a dozen of 12 megapixels, or one of a hundred. */
const ROOM_BYTES = 420 * MB;
/** What one photo, or one pair, may need by itself; it then has all the room. */
export const ONE_PHOTO_BYTES = 600 * MB;

interface Waiting {
  readonly bytes: number;
  readonly slot: boolean;
  readonly go: () => void;
}

// One a process, shared by all bundles of a server and by a development server that loads this file anew.
const shared = globalThis as { swathbookDecodeRoom?: { bytes: number; slots: number; waiting: Waiting[] } };
const room = (shared.swathbookDecodeRoom ??= { bytes: 0, slots: 0, waiting: [] });

const fits = ({ bytes, slot }: Waiting) =>
  (!slot || room.slots < coresForPhotos()) && (room.bytes === 0 || room.bytes + bytes <= ROOM_BYTES);

function admit(): void {
  for (let next = room.waiting[0]; next !== undefined && fits(next); next = room.waiting[0]) {
    room.waiting.shift();
    room.bytes += next.bytes;
    if (next.slot) room.slots += 1;
    next.go();
  }
}

/**
 * Does some work on opened photos once there is room for it.
 * @param bytes what it will hold at its peak
 * @param options.slot false for work that has a thread of its own: it counts for memory, not for how many are opened at
 *   once
 * @throws PhotoRefused when it would never fit
 */
export async function inDecodeRoom<T>(
  bytes: number,
  work: () => Promise<T>,
  { slot = true }: { slot?: boolean } = {},
): Promise<T> {
  if (bytes > ONE_PHOTO_BYTES) {
    throw new PhotoRefused(
      'too-many-pixels',
      `Expected a photo that takes at most ${ONE_PHOTO_BYTES / MB} MB to open, got one that takes ${Math.ceil(bytes / MB)} MB: save it smaller, or as a plain JPEG.`,
    );
  }
  await new Promise<void>((go) => {
    room.waiting.push({ bytes, slot, go });
    admit();
  });
  try {
    return await work();
  } finally {
    room.bytes -= bytes;
    if (slot) room.slots -= 1;
    admit();
  }
}
