'use client';
import { useEffect } from 'react';

/** What was being typed is in the diary now: the bench's draft of it goes, and the address forgets that it did. */
export function ForgetDraft({ draftKey }: { draftKey: string }) {
  useEffect(() => {
    sessionStorage.removeItem(draftKey);
    history.replaceState(history.state, '', location.pathname);
  }, [draftKey]);
  return null;
}
