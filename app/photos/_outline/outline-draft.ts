/**
 * What was drawn or tapped on a photo but not saved, kept in this browser until it is saved or thrown away: a click
 * elsewhere, a reload or a flat battery loses nothing. Where the browser keeps no store (a private window) it lasts as
 * long as the tab.
 */
export interface OutlineDraft<T> {
  keptAtMs: number;
  value: T;
}

const inTab = new Map<string, string>();
const keyOf = (name: string) => `swathbook-draft:${name}`;

export function keepOutlineDraft(name: string, value: unknown, nowMs: number): void {
  const text = JSON.stringify({ keptAtMs: nowMs, value });
  inTab.set(name, text);
  try {
    localStorage.setItem(keyOf(name), text);
  } catch {
    // Full or closed: the tab still has it.
  }
}

export function forgetOutlineDraft(name: string): void {
  inTab.delete(name);
  try {
    localStorage.removeItem(keyOf(name));
  } catch {
    // Nothing was kept there.
  }
}

/** The draft of that name, or null when there is none that can be read. */
export function readOutlineDraft<T>(name: string, isOne: (value: unknown) => value is T): OutlineDraft<T> | null {
  let text = inTab.get(name) ?? null;
  try {
    text = localStorage.getItem(keyOf(name)) ?? text;
  } catch {
    // The tab's own it is.
  }
  if (text === null) return null;
  try {
    const { keptAtMs, value } = JSON.parse(text) as OutlineDraft<unknown>;
    return isOne(value) ? { keptAtMs, value } : null;
  } catch {
    return null;
  }
}
