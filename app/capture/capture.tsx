'use client';
import { useCallback, useEffect, useRef, useState } from 'react';
import { dayText, type Reader } from '@/lib/units/dates';
import type { Tilt } from '@/lib/photo/ground/tilt';
import type { CaptureViewpoint } from '@/lib/work/photos/capture-start';
import { keepShell } from './keep-shell';
import { Level } from './level';
import { QueueList } from './queue-list';
import { shotOf } from './shot-queue';
import { SunHint } from './sun-hint';
import { useCamera } from './use-camera';
import { useQueue } from './use-queue';

const ghostOf = (id: string) => `/api/photos/${id}?width=960`;

/** An orientation older than this is not the shot's own. */
const tiltHoldsMs = 1500;

/** The camera with the last photo of the viewpoint laid over it, and the queue of what was shot. */
export function Capture({
  lawn,
  viewpoints,
}: {
  lawn: Reader & { id: string; latitudeDeg: number | null; longitudeDeg: number | null };
  viewpoints: CaptureViewpoint[];
}) {
  const [name, setName] = useState(viewpoints[0]?.name ?? '');
  const [strength, setStrength] = useState(40);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState('');
  const { video, state, reason, size, measured, shoot } = useCamera();
  const queue = useQueue();
  const input = useRef<HTMLInputElement>(null);
  const held = useRef<{ tilt: Tilt; atMs: number } | null>(null);
  const onTilt = useCallback((tilt: Tilt) => {
    held.current = { tilt, atMs: Date.now() };
  }, []);
  const viewpoint = viewpoints.find((entry) => entry.name === name.trim());
  const last = viewpoint?.last ?? null;

  useEffect(() => {
    const ghosts = viewpoints.flatMap((entry) => (entry.last ? [ghostOf(entry.last.id)] : []));
    // After the page has its own parts, so that they are all known.
    const timer = setTimeout(() => void keepShell(ghosts).catch(() => undefined), 1500);
    return () => clearTimeout(timer);
  }, [viewpoints]);

  const keep = async (bytes: Blob, at: Date, more: { fileName?: string; tilt?: Tilt | undefined }) => {
    try {
      await queue.add(shotOf(bytes, lawn.id, name.trim(), at, more));
      setTrouble('');
    } catch {
      setTrouble(
        'This shot could not be kept on the phone: its store is full or closed. Take it with the phone’s own camera and add it on the Photos page.',
      );
    }
  };
  const press = async () => {
    setBusy(true);
    const at = new Date();
    const tilt = held.current && at.getTime() - held.current.atMs < tiltHoldsMs ? held.current.tilt : undefined;
    try {
      await keep(await shoot(), at, { tilt });
      navigator.vibrate?.(40);
    } catch (error) {
      setTrouble(error instanceof Error ? error.message : 'The camera gave no picture.');
    } finally {
      setBusy(false);
    }
  };

  return (
    <div className="capture">
      <div className="field">
        <label htmlFor="capture-viewpoint">Viewpoint</label>
        <input
          id="capture-viewpoint"
          list="capture-viewpoints"
          value={name}
          onChange={(event) => setName(event.target.value)}
          placeholder="From the porch"
          autoComplete="off"
        />
        <datalist id="capture-viewpoints">
          {viewpoints.map((entry) => (
            <option key={entry.id} value={entry.name} />
          ))}
        </datalist>
      </div>
      {viewpoints.length > 1 && (
        <div className="row" role="group" aria-label="Viewpoints of this lawn">
          {viewpoints.map((entry) => (
            <button
              key={entry.id}
              type="button"
              className={`chip button-plain${entry.name === name ? ' chip-on' : ''}`}
              aria-pressed={entry.name === name}
              onClick={() => setName(entry.name)}
            >
              {entry.name}
            </button>
          ))}
        </div>
      )}
      <div className="capture-stage" style={{ aspectRatio: `${size.width} / ${size.height}` }}>
        <video
          ref={video}
          playsInline
          muted
          autoPlay
          onLoadedMetadata={measured}
          onResize={measured}
          aria-label="What the camera sees"
        />
        {last && (
          <img
            src={ghostOf(last.id)}
            alt=""
            className={size.width >= size.height ? 'capture-ghost-wide' : 'capture-ghost-tall'}
            style={{ opacity: state === 'none' ? 1 : strength / 100 }}
          />
        )}
        {state === 'starting' && <span className="capture-say">The camera starts …</span>}
        {/* In the camera's place, so that nothing below it moves. */}
        {state === 'none' ? (
          <p className="capture-none">
            {reason} Use the phone’s own camera below: what it takes is queued here all the same.
          </p>
        ) : (
          <Level onTilt={onTilt} />
        )}
      </div>
      {last && (
        <label className="capture-strength" style={state === 'none' ? { visibility: 'hidden' } : undefined}>
          <span>Ghost of {dayText(last.takenAt, lawn)}: line up path, stakes and edges with it</span>
          <input
            type="range"
            min={0}
            max={90}
            step={5}
            value={strength}
            onChange={(event) => setStrength(Number(event.target.value))}
            aria-valuetext={`${strength} percent`}
          />
        </label>
      )}
      <SunHint
        latitudeDeg={lawn.latitudeDeg}
        longitudeDeg={lawn.longitudeDeg}
        lastElevationDeg={last?.sunElevationDeg ?? null}
      />
      <div className="capture-foot">
        {state !== 'none' && (
          <button
            type="button"
            className="capture-shutter"
            onClick={() => void press()}
            disabled={busy || state !== 'live'}
          >
            {busy ? 'Keeping …' : 'Take the photo'}
          </button>
        )}
        <button
          type="button"
          className={state === 'none' ? 'capture-shutter' : ''}
          onClick={() => input.current?.click()}
        >
          Use the phone’s camera
        </button>
        <input
          ref={input}
          type="file"
          accept="image/*"
          capture="environment"
          className="visually-hidden"
          tabIndex={-1}
          aria-label="Photo from the phone’s camera"
          onChange={(event) => {
            for (const file of event.target.files ?? [])
              void keep(file, new Date(file.lastModified), { fileName: file.name });
            event.target.value = '';
          }}
        />
      </div>
      <div aria-live="assertive">
        {(trouble || queue.trouble) && <p className="notice notice-bad">{trouble || queue.trouble}</p>}
      </div>
      <QueueList
        waiting={queue.waiting}
        sent={queue.sent}
        notes={queue.notes}
        onAgain={(shot) => void queue.again(shot)}
        onDiscard={(key) => void queue.discard(key)}
      />
    </div>
  );
}
