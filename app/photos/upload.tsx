'use client';
import Link from 'next/link';
import { useRouter } from 'next/navigation';
import { useRef, useState } from 'react';

interface Job {
  key: number;
  file: File;
  sent: number;
  state: 'queued' | 'sending' | 'reading' | 'done' | 'refused' | 'lost';
  message: string;
  photoId?: string;
}

interface Answer {
  ok: boolean;
  message: string;
  photoId?: string;
}

const atOnce = 2;

function send(file: File, lawnId: string, viewpoint: string, onProgress: (share: number) => void): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    const query = new URLSearchParams({
      lawn: lawnId,
      name: file.name,
      viewpoint,
      modified: new Date(file.lastModified).toISOString(),
    });
    request.open('PUT', `/api/photos?${query}`);
    request.responseType = 'json';
    request.upload.addEventListener(
      'progress',
      (event) => event.lengthComputable && onProgress(event.loaded / event.total),
    );
    request.addEventListener('load', () => {
      const answer = request.response as Answer | null;
      if (answer && typeof answer.message === 'string') resolve(answer);
      else reject(new Error(`The server answered ${request.status} without a word of why.`));
    });
    request.addEventListener('error', () =>
      reject(new Error('The connection broke off; the photo is still here, try again.')),
    );
    request.send(file);
  });
}

/** Drop many photos at once: each is sent on its own, shows its progress, and can be tried again. */
export function Upload({ lawnId, viewpoints }: { lawnId: string; viewpoints: { id: string; name: string }[] }) {
  const router = useRouter();
  const [jobs, setJobs] = useState<Job[]>([]);
  const [over, setOver] = useState(false);
  const [viewpoint, setViewpoint] = useState(viewpoints[0]?.name ?? 'The usual place');
  const nextKey = useRef(0);
  const running = useRef(0);
  const queue = useRef<Job[]>([]);
  const input = useRef<HTMLInputElement>(null);

  const change = (key: number, part: Partial<Job>) =>
    setJobs((all) => all.map((job) => (job.key === key ? { ...job, ...part } : job)));

  function pump(): void {
    while (running.current < atOnce && queue.current.length > 0) {
      const job = queue.current.shift() as Job;
      running.current += 1;
      change(job.key, { state: 'sending', sent: 0, message: '' });
      send(job.file, lawnId, viewpoint.trim(), (share) =>
        change(job.key, { sent: share, state: share >= 1 ? 'reading' : 'sending' }),
      )
        .then((answer) =>
          change(job.key, {
            state: answer.ok ? 'done' : 'refused',
            message: answer.message,
            sent: 1,
            ...(answer.photoId ? { photoId: answer.photoId } : {}),
          }),
        )
        .catch((error: Error) => change(job.key, { state: 'lost', message: error.message }))
        .finally(() => {
          running.current -= 1;
          if (running.current === 0 && queue.current.length === 0) router.refresh();
          pump();
        });
    }
  }

  const add = (files: Iterable<File>) => {
    const fresh = [...files].map((file) => ({
      key: nextKey.current++,
      file,
      sent: 0,
      state: 'queued' as const,
      message: '',
    }));
    setJobs((all) => [...all, ...fresh]);
    queue.current.push(...fresh);
    pump();
  };

  const again = (job: Job) => {
    queue.current.push(job);
    change(job.key, { state: 'queued', message: '' });
    pump();
  };

  const kept = jobs.filter((job) => job.photoId !== undefined);
  const waiting = jobs.filter(
    (job) => job.state === 'queued' || job.state === 'sending' || job.state === 'reading',
  ).length;

  return (
    <section className="sheet">
      <div className="fields" style={{ marginBottom: '0.75rem' }}>
        <div className="field">
          <label htmlFor="viewpoint">Viewpoint</label>
          <input
            id="viewpoint"
            list="viewpoints"
            value={viewpoint}
            onChange={(event) => setViewpoint(event.target.value)}
            placeholder="From the porch"
          />
          <datalist id="viewpoints">
            {viewpoints.map((entry) => (
              <option key={entry.id} value={entry.name} />
            ))}
          </datalist>
          <span className="hint">
            The place you stand. Photos of one viewpoint are compared with each other and share their outlines.
          </span>
        </div>
      </div>
      <div
        className={`drop${over ? ' drop-over' : ''}`}
        onDragOver={(event) => {
          event.preventDefault();
          setOver(true);
        }}
        onDragLeave={() => setOver(false)}
        onDrop={(event) => {
          event.preventDefault();
          setOver(false);
          add(event.dataTransfer.files);
        }}
      >
        <p>Drop photos here, as many as you like</p>
        <button type="button" onClick={() => input.current?.click()}>
          Choose photos
        </button>
        <input
          ref={input}
          type="file"
          multiple
          accept="image/jpeg,image/png,image/webp,image/tiff,image/avif,image/heic,image/heif,.heic,.heif"
          className="visually-hidden"
          aria-label="Photos"
          onChange={(event) => {
            if (event.target.files) add(event.target.files);
            event.target.value = '';
          }}
        />
      </div>
      {waiting === 0 && kept.length > 0 && (
        <p className="row" role="status">
          <Link className="button button-main" href={`/photos/${kept[0]?.photoId}`}>
            {kept.length === 1 ? 'Outline its plots' : 'Outline the plots in the first'}
          </Link>
        </p>
      )}
      <ul
        style={{ listStyle: 'none', padding: 0, margin: '0.75rem 0 0', display: 'grid', gap: '0.6rem' }}
        aria-live="polite"
      >
        {jobs.map((job) => (
          <li key={job.key}>
            <div className="row row-end">
              <span>
                {job.photoId ? <a href={`/photos/${job.photoId}`}>{job.file.name}</a> : job.file.name}{' '}
                <span className="soft">{(job.file.size / 1e6).toFixed(1)} MB</span>
              </span>
              {(job.state === 'lost' || job.state === 'refused') && (
                <button type="button" onClick={() => again(job)}>
                  Try again
                </button>
              )}
            </div>
            {(job.state === 'queued' || job.state === 'sending' || job.state === 'reading') && (
              <div
                className="progress"
                role="progressbar"
                aria-label={`${job.file.name} sent`}
                aria-valuemin={0}
                aria-valuemax={100}
                aria-valuenow={Math.round(job.sent * 100)}
              >
                <span style={{ width: `${job.sent * 100}%` }} />
              </div>
            )}
            <div className={job.state === 'refused' || job.state === 'lost' ? 'wrong' : 'soft'}>
              {job.state === 'queued'
                ? 'Waiting'
                : job.state === 'sending'
                  ? `Sending, ${Math.round(job.sent * 100)} %`
                  : job.state === 'reading'
                    ? 'Reading the photo …'
                    : job.message}
            </div>
          </li>
        ))}
      </ul>
    </section>
  );
}
