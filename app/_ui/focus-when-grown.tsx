'use client';
import { useLayoutEffect, useRef } from 'react';

/**
 * After an entry was added the form for the next one is built anew: whoever works by keyboard goes on in its first
 * field, not at the top of the page.
 */
export function FocusWhenGrown({ count }: { count: number }) {
  const here = useRef<HTMLSpanElement>(null);
  const before = useRef(count);
  // Before the page is shown, so that nobody sees the form close and open again.
  useLayoutEffect(() => {
    const form = here.current?.closest('details');
    if (count > before.current && form) {
      form.open = true;
      form.querySelector<HTMLElement>('input:not([type="hidden"])')?.focus();
    }
    before.current = count;
  }, [count]);
  return <span ref={here} hidden />;
}
