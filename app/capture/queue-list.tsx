'use client';
import { useCallback } from 'react';
import type { Sent } from './use-queue';
import type { Shot } from './shot-queue';

function Thumb({ bytes }: { bytes: Blob }) {
  const show = useCallback(
    (image: HTMLImageElement) => {
      const address = URL.createObjectURL(bytes);
      image.src = address;
      return () => URL.revokeObjectURL(address);
    },
    [bytes],
  );
  return <img ref={show} alt="" width={72} height={54} className="capture-thumb" />;
}

/** What waits on this phone and what the diary has. */
export function QueueList({
  waiting,
  sent,
  notes,
  onAgain,
  onDiscard,
}: {
  waiting: Shot[];
  sent: Sent[];
  notes: Record<string, string>;
  onAgain: (shot: Shot) => void;
  onDiscard: (key: string) => void;
}) {
  return (
    <section aria-label="Shots">
      <p role="status" className={waiting.length > 0 ? 'notice' : 'soft'}>
        {waiting.length === 0
          ? sent.length === 0
            ? 'No shot waits on this phone.'
            : 'All shots are in the diary.'
          : `${waiting.length} ${waiting.length === 1 ? 'shot waits' : 'shots wait'} on this phone until the diary has ${waiting.length === 1 ? 'it' : 'them'}.`}
      </p>
      <ul className="capture-queue">
        {waiting.map((shot) => (
          <li key={shot.key}>
            <Thumb bytes={shot.bytes} />
            <span>
              {shot.taken.slice(0, 10)}, {shot.taken.slice(11, 16)}{' '}
              <span className="soft">{shot.viewpoint || 'no viewpoint'}</span>
              <span className={shot.refused ? 'wrong' : 'soft'} style={{ display: 'block' }}>
                {shot.refused ?? notes[shot.key] ?? 'Waiting'}
              </span>
              {shot.refused !== undefined && (
                <span className="row">
                  <button type="button" onClick={() => onAgain(shot)}>
                    Try again
                  </button>
                  <button
                    type="button"
                    className="button-warn"
                    onClick={() => confirm('Throw this shot away? It is nowhere else.') && onDiscard(shot.key)}
                  >
                    Throw away
                  </button>
                </span>
              )}
            </span>
          </li>
        ))}
        {sent.map((one) => (
          <li key={one.key}>
            <img src={`/api/photos/${one.photoId}?width=320`} alt="" width={72} height={54} className="capture-thumb" />
            <a href={`/photos/${one.photoId}`}>{one.fileName} is in the diary</a>
          </li>
        ))}
      </ul>
    </section>
  );
}
