import { readlinkSync } from 'node:fs';
import { setPriority } from 'node:os';

/**
 * Lets this thread, and no other of its process, wait for whoever serves a page (Linux, where a thread has a priority
 * of its own).
 */
export function stepBack() {
  try {
    setPriority(Number(readlinkSync('/proc/thread-self').split('/').at(-1)), 10);
  } catch {
    // Elsewhere all threads are alike.
  }
}
