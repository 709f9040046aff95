'use client';

export function PrintButton() {
  return (
    <button type="button" onClick={() => print()}>
      Print
    </button>
  );
}
