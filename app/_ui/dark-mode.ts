'use client';
import { useSyncExternalStore } from 'react';

const darkScheme = '(prefers-color-scheme: dark)';
const isDark = () => matchMedia(darkScheme).matches;
function followScheme(changed: () => void): () => void {
  const query = matchMedia(darkScheme);
  query.addEventListener('change', changed);
  return () => query.removeEventListener('change', changed);
}

/** Whether the reader's device is set to dark; charts draw on canvas and must be told. */
export function useDarkMode(): boolean {
  return useSyncExternalStore(followScheme, isDark, () => false);
}
