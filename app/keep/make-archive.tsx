'use client';
import { useRouter } from 'next/navigation';
import { useEffect, useState } from 'react';
import { makeArchive } from './actions';

type Job =
  | { state: 'idle' }
  | { state: 'running'; step: string; doneBytes: number; totalBytes: number }
  | { state: 'done'; name: string; missing: readonly string[]; on: string; isHere: boolean }
  | { state: 'failed'; message: string };

const askEveryMs = 400;

/** Starts an archive and shows how far it is; leaving the page doesn't stop it. */
export function MakeArchive({ start }: { start: Job }) {
  const router = useRouter();
  const [job, setJob] = useState<Job>(start.state === 'running' ? start : { state: 'idle' });
  // Until it is asked for, what is told is of the one before.
  const [asking, setAsking] = useState(false);
  const running = job.state === 'running';

  useEffect(() => {
    if (!running || asking) return;
    let gone = false;
    const timer = setInterval(() => {
      fetch('/api/archives/progress', { cache: 'no-store' })
        .then((answer) => answer.json() as Promise<Job>)
        .then((next) => {
          if (gone) return;
          setJob(next);
          if (next.state === 'done') router.refresh();
        })
        .catch(() => undefined); // the next tick asks again
    }, askEveryMs);
    return () => {
      gone = true;
      clearInterval(timer);
    };
  }, [running, asking, router]);

  const share = job.state === 'running' && job.totalBytes > 0 ? job.doneBytes / job.totalBytes : 0;
  return (
    <div style={{ marginBottom: '1rem' }}>
      <div className="row">
        <button
          type="button"
          className="button-main"
          disabled={running}
          onClick={() => {
            setJob({ state: 'running', step: 'starting', doneBytes: 0, totalBytes: 0 });
            setAsking(true);
            makeArchive()
              .catch(() => setJob({ state: 'failed', message: 'The server could not be reached; try again.' }))
              .finally(() => setAsking(false));
          }}
        >
          {running ? 'Making an archive …' : 'Make an archive'}
        </button>
      </div>
      <div aria-live="polite" style={{ marginTop: '0.6rem' }}>
        {job.state === 'running' && (
          <>
            <div
              className="progress"
              role="progressbar"
              aria-label="Archive"
              aria-valuemin={0}
              aria-valuemax={100}
              aria-valuenow={Math.round(share * 100)}
            >
              <span style={{ width: `${share * 100}%` }} />
            </div>
            <p className="soft">
              {job.step}
              {job.totalBytes > 0 ? `, ${Math.round(share * 100)} % of ${(job.totalBytes / 1e6).toFixed(1)} MB` : ''}
            </p>
          </>
        )}
        {job.state === 'done' && (
          <p className="notice notice-good">
            Made and read back:{' '}
            {job.isHere ? (
              <a href={`/api/archives/${job.name}`} download>
                {job.name}
              </a>
            ) : (
              `${job.name}, in the data folder of the process that made it on ${job.on}`
            )}
            .
            {job.missing.length > 0 &&
              ` ${job.missing.length} photo(s) that the diary lists had no file and are not in it.`}
          </p>
        )}
        {job.state === 'failed' && <p className="notice notice-bad">{job.message}</p>}
      </div>
    </div>
  );
}
