import type { ReactNode } from 'react';

/** Holds a table that may be wider than the screen: it scrolls by itself, with the keyboard too. */
export function TableHold({ label, children }: { label: string; children: ReactNode }) {
  return (
    // A region that scrolls has to take the focus, or the keyboard can't reach what lies outside.
    <div className="table-hold" role="region" aria-label={label} tabIndex={0}>
      {children}
    </div>
  );
}
