'use client';

/** Prints the page; `main` where that is what one came for. */
export function PrintButton({ main = false }: { main?: boolean }) {
  return (
    <button type="button" className={main ? 'button-main' : undefined} onClick={() => print()}>
      Print
    </button>
  );
}
