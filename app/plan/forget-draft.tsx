'use client';
import { useEffect } from 'react';

/** What was being typed is in the diary now: the page's own draft of it goes. */
export function ForgetDraft({ keys }: { keys: readonly string[] }) {
  useEffect(() => {
    for (const key of keys) sessionStorage.removeItem(key);
  }, [keys]);
  return null;
}
