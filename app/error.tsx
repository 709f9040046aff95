'use client';

export default function ErrorPage({ error, reset }: { error: Error & { digest?: string }; reset: () => void }) {
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
