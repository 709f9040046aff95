'use client';
import { useRouter } from 'next/navigation';
import { useRef, useState } from 'react';

interface Answer {
  ok: boolean;
  fileId?: string;
  message?: string;
}

function send(file: File, lawnId: string, onProgress: (share: number) => void): Promise<Answer> {
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.open('PUT', `/api/weather/files?${new URLSearchParams({ lawn: lawnId, name: file.name })}`);
    request.responseType = 'json';
    request.upload.addEventListener(
      'progress',
      (event) => event.lengthComputable && onProgress(event.loaded / event.total),
    );
    request.addEventListener('load', () =>
      resolve(
        (request.response as Answer | null) ?? {
          ok: false,
          message: `The server answered ${request.status} without a word of why.`,
        },
      ),
    );
    request.addEventListener('error', () =>
      resolve({ ok: false, message: 'The connection broke off; choose the file again.' }),
    );
    request.send(file);
  });
}

/** Sends a logger's file; then the page shows how it reads. */
export function UploadFile({ lawnId }: { lawnId: string }) {
  const router = useRouter();
  const input = useRef<HTMLInputElement>(null);
  const [share, setShare] = useState<number | null>(null);
  const [message, setMessage] = useState('');
  const [over, setOver] = useState(false);

  const take = async (file: File | undefined) => {
    if (!file) return;
    setMessage('');
    setShare(0);
    const answer = await send(file, lawnId, setShare);
    setShare(null);
    if (answer.ok && answer.fileId) router.push(`/weather/import?file=${answer.fileId}`);
    else setMessage(answer.message ?? 'The file was not taken.');
  };

  return (
    <section className="sheet">
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
          void take(event.dataTransfer.files[0]);
        }}
      >
        <p>Drop the file here</p>
        <button type="button" disabled={share !== null} onClick={() => input.current?.click()}>
          Choose a file
        </button>
        <input
          ref={input}
          type="file"
          accept=".csv,.txt,.tsv,.dat,text/csv,text/plain"
          className="visually-hidden"
          aria-label="File of readings"
          onChange={(event) => {
            void take(event.target.files?.[0]);
            event.target.value = '';
          }}
        />
      </div>
      {share !== null && (
        <div
          className="progress"
          role="progressbar"
          aria-label="Sent"
          aria-valuemin={0}
          aria-valuemax={100}
          aria-valuenow={Math.round(share * 100)}
          style={{ marginTop: '0.75rem' }}
        >
          <span style={{ width: `${share * 100}%` }} />
        </div>
      )}
      <div aria-live="polite">{message && <p className="notice notice-bad">{message}</p>}</div>
    </section>
  );
}
