'use client';
import { useRouter } from 'next/navigation';
import { useEffect, useRef, useState } from 'react';

interface Answer {
  ok: boolean;
  sentence: string;
}

async function ask(body: object): Promise<Answer> {
  try {
    const response = await fetch('/api/weather/ask', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    return (await response.json()) as Answer;
  } catch {
    return { ok: false, sentence: 'The diary itself can’t be reached; is it still running?' };
  }
}

/**
 * Asks the weather service in the background: by itself when what the page shows is old, or by the button. The page is
 * whole before, while and after.
 */
export function AskService({ lawnId, stale, last }: { lawnId: string; stale: boolean; last: Answer | null }) {
  const router = useRouter();
  const [busy, setBusy] = useState(false);
  const [answer, setAnswer] = useState<Answer | null>(last);
  const asked = useRef(false);

  const run = async (body: object) => {
    setBusy(true);
    const got = await ask(body);
    setBusy(false);
    setAnswer(got);
    router.refresh();
  };

  useEffect(() => {
    if (!stale || asked.current) return;
    asked.current = true;
    void run({ lawn: lawnId });
  });

  return (
    <div className="stack" style={{ display: 'grid', gap: '0.75rem' }}>
      <div className="row">
        <button type="button" disabled={busy} onClick={() => void run({ lawn: lawnId })}>
          {busy ? 'Asking …' : 'Ask for hours now'}
        </button>
        <span aria-live="polite" className="soft">
          {busy ? 'The page stays as it is meanwhile.' : ''}
        </span>
      </div>
      {!busy && answer && (
        <p className={answer.ok ? 'notice notice-good' : 'notice notice-bad'} role="status">
          {answer.sentence}
        </p>
      )}
      <details>
        <summary>Ask for hours long past</summary>
        <form
          className="stack"
          onSubmit={(event) => {
            event.preventDefault();
            const data = new FormData(event.currentTarget);
            void run({ lawn: lawnId, from: String(data.get('from')), to: String(data.get('to')) });
          }}
        >
          <div className="fields">
            <div className="field">
              <label htmlFor="history-from">First day</label>
              <input id="history-from" name="from" type="date" required />
            </div>
            <div className="field">
              <label htmlFor="history-to">Last day</label>
              <input id="history-to" name="to" type="date" required />
            </div>
          </div>
          <div className="row">
            <button type="submit" disabled={busy}>
              Ask for these days
            </button>
          </div>
          <p className="soft">
            Needs an address with {'{from}'} and {'{to}'} in it; at most a year at a time.
          </p>
        </form>
      </details>
    </div>
  );
}
