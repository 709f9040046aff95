'use client';

/** Troubles that have a sentence of their own, by the digest they carry. */
const known: Readonly<Record<string, string>> = {
  'disk-full':
    'The disk is full: nothing was saved. Free some space on the machine that keeps the diary, then try again; what you typed is kept where the form keeps drafts.',
  'not-writable':
    'The data folder can’t be written to: nothing was saved. Give the diary the right to write there, then try again.',
  'no-server':
    'The database server doesn’t answer: nothing was saved. It may be starting again: wait a moment, then try again.',
};

export default function ErrorPage({ error, reset }: { error: Error & { digest?: string }; reset: () => void }) {
  const sentence = error.digest === undefined ? undefined : known[error.digest];
  if (sentence !== undefined) {
    return (
      <div className="sheet">
        <h1>Nothing could be saved</h1>
        <p className="notice notice-bad">{sentence}</p>
        <button type="button" onClick={reset}>
          Try again
        </button>
      </div>
    );
  }
  return (
    <div className="sheet">
      <h1>This page could not be shown</h1>
      <p>
        Something went wrong here that was not expected. Nothing in the diary was changed by it.
        {error.digest && <span className="soft"> (Log entry {error.digest})</span>}
      </p>
      <button type="button" onClick={reset}>
        Try again
      </button>
    </div>
  );
}
