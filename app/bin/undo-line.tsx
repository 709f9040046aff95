'use client';
import { usePathname } from 'next/navigation';
import { useEffect, useState } from 'react';
import type { BinKind } from '@/lib/diary/bin';
import { putBack } from './actions';
import { binKindWords } from './kind-words';

/**
 * Right after something went to the bin: says so and takes it back. Shown once: gone as one moves on or loads a page
 * anew.
 */
export function UndoLine({ kind, id }: { kind: BinKind; id: string }) {
  const path = usePathname();
  const [shownOn] = useState(path);
  const [movedOn, setMovedOn] = useState(false);
  useEffect(() => {
    document.cookie = 'undo=; Max-Age=0; Path=/; SameSite=Lax';
  }, []);
  if (path !== shownOn && !movedOn) setMovedOn(true);
  if (movedOn || path !== shownOn) return null;
  return (
    <form action={putBack} className="notice row frame-undo" role="status">
      <input type="hidden" name="kind" value={kind} />
      <input type="hidden" name="id" value={id} />
      <input type="hidden" name="go" value="yes" />
      <span>{binKindWords[kind]} moved to the bin.</span>
      <button type="submit" className="button-plain">
        Undo
      </button>
    </form>
  );
}
