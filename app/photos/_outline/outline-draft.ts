import type { OutlineWork } from './outline-steps';

/**
 * Outlines that were drawn but not saved, kept in this browser until they are saved or thrown away: a click elsewhere, a reload
 * or a flat battery loses nothing. Where the browser keeps no store (a private window) they last as long as the tab.
 */
export interface OutlineDraft {
  keptAtMs: number;
  work: OutlineWork;
}

const inTab = new Map<string, string>();
const nameOf = (photoId: string) => `swathbook-outlines:${photoId}`;

export function keepDraft(photoId: string, work: OutlineWork, nowMs: number): void {
  const text = JSON.stringify({ keptAtMs: nowMs, work } satisfies OutlineDraft);
  inTab.set(photoId, text);
  try {
    localStorage.setItem(nameOf(photoId), text);
  } catch {
    // Full or closed: the tab still has it.
  }
}

export function forgetDraft(photoId: string): void {
  inTab.delete(photoId);
  try {
    localStorage.removeItem(nameOf(photoId));
  } catch {
    // Nothing was kept there.
  }
}

/** The draft of a photo, or null when there is none that can be read. */
export function readDraft(photoId: string): OutlineDraft | null {
  let text = inTab.get(photoId) ?? null;
  try {
    text = localStorage.getItem(nameOf(photoId)) ?? text;
  } catch {
    // The tab's own it is.
  }
  if (text === null) return null;
  try {
    const draft = JSON.parse(text) as OutlineDraft;
    return Array.isArray(draft.work.outlines) && Array.isArray(draft.work.taps) && typeof draft.work.picked.kind === 'string' ? draft : null;
  } catch {
    return null;
  }
}
