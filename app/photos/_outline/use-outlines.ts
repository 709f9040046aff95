'use client';
import { useCallback, useEffect, useRef, useState } from 'react';
import { forgetOutlineDraft, keepOutlineDraft, readOutlineDraft } from './outline-draft';
import { startWork, type EditorOutline, type OutlineWork } from './outline-steps';

const mostUndo = 60;
const draftOf = (photoId: string) => `outlines:${photoId}`;

function isWork(value: unknown): value is OutlineWork {
  const work = value as Partial<OutlineWork> | null;
  return (
    Array.isArray(work?.outlines) &&
    Array.isArray(work.taps) &&
    typeof work.picked?.kind === 'string' &&
    typeof work.stakes === 'object'
  );
}

/** Were outlines of this photo drawn by hand and not saved? */
export const hasOutlineDraft = (photoId: string): boolean => readOutlineDraft(draftOf(photoId), isWork) !== null;

/** The outlines of one photo in the editor: with steps back, and a draft in this browser until they are saved. */
export function useOutlines(photoId: string, start: EditorOutline[], order: readonly string[]) {
  const [work, setWork] = useState<OutlineWork>(() => startWork(start, order));
  const [past, setPast] = useState<OutlineWork[]>([]);
  const [changed, setChanged] = useState(false);
  const [draftAtMs, setDraftAtMs] = useState<number | null>(null);
  /** The outlines as of the last event, and as they were before a drag that still goes on. */
  const current = useRef(work);
  const before = useRef<OutlineWork | null>(null);
  const show = useCallback((next: OutlineWork) => {
    current.current = next;
    setWork(next);
  }, []);

  useEffect(() => {
    const draft = readOutlineDraft(draftOf(photoId), isWork);
    if (!draft) return;
    // After the first paint: the server knows of no draft.
    const timer = setTimeout(() => {
      show(draft.value);
      setChanged(true);
      setDraftAtMs(draft.keptAtMs);
    }, 0);
    return () => clearTimeout(timer);
  }, [photoId, show]);

  /** Takes a step; while a drag goes on (`done` false) only its end is one to go back over. */
  const take = useCallback(
    (next: OutlineWork, done = true) => {
      const from = (before.current ??= current.current);
      show(next);
      if (!done) return;
      before.current = null;
      setPast((all) => [...all.slice(-mostUndo), from]);
      setChanged(true);
      keepOutlineDraft(draftOf(photoId), next, Date.now());
    },
    [photoId, show],
  );

  const back = useCallback(() => {
    const last = past.at(-1);
    if (!last) return;
    setPast(past.slice(0, -1));
    show(last);
    keepOutlineDraft(draftOf(photoId), last, Date.now());
  }, [past, photoId, show]);

  const settle = useCallback(
    (next: OutlineWork) => {
      forgetOutlineDraft(draftOf(photoId));
      setChanged(false);
      setDraftAtMs(null);
      setPast([]);
      show(next);
    },
    [photoId, show],
  );

  /** What was saved is accepted from then on. */
  const accept = useCallback(
    () =>
      settle({
        ...current.current,
        outlines: current.current.outlines.map((outline) => ({ ...outline, accepted: true })),
      }),
    [settle],
  );
  const throwAway = useCallback(() => settle(startWork(start, order)), [settle, start, order]);

  // Another choice of what to work on is no change of the outlines: `show` alone.
  return { work, changed, draftAtMs, canGoBack: past.length > 0, take, look: show, back, accept, throwAway };
}
