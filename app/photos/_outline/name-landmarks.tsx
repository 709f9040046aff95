'use client';
import './stage.css';
import { useState } from 'react';
import { ActionForm } from '@/app/_ui/action-form';
import type { FormResult } from '@/lib/forms/result';
import type { Point } from '@/lib/photo/raster/pixels';
import { Cutout } from './cutout';
import { PhotoStage } from './photo-stage';

/** What is usually found on and beside a lawn; common practice, no source. */
const usual = [
  'stake',
  'corner of the path',
  'sprinkler head',
  'edge of the slab',
  'foot of the post',
  'drain cover',
  'corner of the bed',
];

/** Things on the ground that last, pointed out once: what to ask for when a photo can't be lined up by itself. */
export function NameLandmarks({
  photoId,
  widthPx,
  heightPx,
  alt,
  landmarks,
  add,
  remove,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  alt: string;
  landmarks: { id: string; name: string; from: { photoId: string; widthPx: number; heightPx: number; at: Point } }[];
  add: (previous: FormResult, data: FormData) => Promise<FormResult>;
  remove: (data: FormData) => Promise<void>;
}) {
  const [place, setPlace] = useState<Point | null>(null);
  const addAndClear = async (previous: FormResult, data: FormData): Promise<FormResult> => {
    const result = await add(previous, data);
    if (result.ok) setPlace(null);
    return result;
  };
  const here = landmarks.filter((landmark) => landmark.from.photoId === photoId);
  return (
    <div>
      {landmarks.length > 0 && (
        <ul className="cutout-row">
          {landmarks.map((landmark) => (
            <li key={landmark.id}>
              <Cutout {...landmark.from} label={landmark.name} />
              <span>{landmark.name}</span>
              <form action={remove}>
                <input type="hidden" name="id" value={landmark.id} />
                <button type="submit" className="button-plain" aria-label={`Forget the ${landmark.name}`}>
                  Forget
                </button>
              </form>
            </li>
          ))}
        </ul>
      )}
      <p className="soft" aria-live="polite">
        {place
          ? 'Drag the ring to where it meets the ground, then say what it is.'
          : 'Tap a thing where it meets the ground: a stake, the corner of a path, a sprinkler head. Four or more, spread round the plots, serve best.'}
      </p>
      <PhotoStage
        photoId={photoId}
        widthPx={widthPx}
        heightPx={heightPx}
        alt={alt}
        label="Things to line up by"
        handles={place ? [{ key: 'place', at: place, label: 'The thing’s place' }] : []}
        onTap={setPlace}
        onDrag={(_key, to) => setPlace(to)}
      >
        {here.map(({ id, from: { at } }) => (
          <g key={id}>
            <circle className="ring-back" cx={at[0]} cy={at[1]} r={widthPx / 90} />
            <circle className="ring" cx={at[0]} cy={at[1]} r={widthPx / 90} />
          </g>
        ))}
      </PhotoStage>
      {place && (
        <ActionForm action={addAndClear} submit="Keep it">
          <div className="field">
            <label htmlFor="landmark-name">What is it?</label>
            <input id="landmark-name" name="name" list="landmark-names" autoComplete="off" maxLength={60} />
            <datalist id="landmark-names">
              {usual.map((name) => (
                <option key={name} value={name} />
              ))}
            </datalist>
          </div>
          <input type="hidden" name="at" value={JSON.stringify(place)} />
        </ActionForm>
      )}
    </div>
  );
}
