'use client';
import './stage.css';
import { useEffect, useMemo, useRef, useState, type ReactNode } from 'react';
import { ActionForm } from '@/app/_ui/action-form';
import type { FormResult } from '@/lib/forms/result';
import type { GuessDoubt } from '@/lib/photo/ground/follow-taps';
import { applyHomography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { askState, WANTED, type ThingAnswer } from './ask-steps';
import { Cutout } from './cutout';
import { forgetOutlineDraft, keepOutlineDraft, readOutlineDraft } from './outline-draft';
import { OutlineShapes } from './outline-editor';
import { hasOutlineDraft } from './use-outlines';
import { PhotoStage, type StageHandle, type StageView } from './photo-stage';

export interface ThingToFind {
  landmarkId: string | null;
  name: string;
  from: { photoId: string; widthPx: number; heightPx: number; day: string; at: Point };
  guess: Point;
  /** Where the photos themselves show it, if they do. */
  seen?: Point;
  said?: Point | null;
}

interface AskDraft {
  answers: ThingAnswer[];
}
const isAskDraft = (value: unknown): value is AskDraft => Array.isArray((value as AskDraft | null)?.answers);

/**
 * Asks for things one can see instead of corners on bare grass: each shown as an earlier photo had it, the guess drawn
 * where it is thought to be, one tap or "not in this photo" each; the plots follow.
 */
export function Asking({
  photoId,
  widthPx,
  heightPx,
  alt,
  things,
  plots,
  kept,
  doubt,
  names,
  save,
  byHand,
}: {
  photoId: string;
  widthPx: number;
  heightPx: number;
  alt: string;
  things: ThingToFind[];
  plots: { plotId: string; corners: Point[] }[];
  /** Outlines that are not asked about (boards, plots drawn before): saved as they are. */
  kept: { plotId: string; corners: Point[] }[];
  doubt: GuessDoubt;
  names: { id: string; name: string }[];
  save: (previous: FormResult, data: FormData) => Promise<FormResult>;
  /** The editor, for whoever would rather draw. */
  byHand: ReactNode;
}) {
  const [answers, setAnswers] = useState<ThingAnswer[]>(() =>
    things.map((thing) => (thing.said === undefined ? null : (thing.said ?? 'absent'))),
  );
  const [drawing, setDrawing] = useState(false);
  const [more, setMore] = useState(false);
  const view = useRef<StageView>(null);
  const draftName = `taps:${photoId}`;

  useEffect(() => {
    const draft = readOutlineDraft(draftName, isAskDraft);
    const drawn = hasOutlineDraft(photoId);
    // After the first paint: the server knows of no draft.
    const timer = setTimeout(() => {
      if (draft && draft.value.answers.length === things.length) setAnswers(draft.value.answers);
      if (drawn) setDrawing(true);
    }, 0);
    return () => clearTimeout(timer);
  }, [draftName, photoId, things.length]);

  const size = { width: widthPx, height: heightPx };
  const state = askState(things, answers, plots, size, doubt);
  const unanswered = answers.findIndex((answer) => answer === null);
  const asked = state.next ?? (more && unanswered >= 0 ? unanswered : null);
  const thing = asked === null ? null : (things[asked] as ThingToFind);
  const guess = useMemo(
    () => (thing ? (thing.seen ?? applyHomography(state.followed.correction, thing.guess)) : null),
    [thing, state.followed],
  );
  const [gx, gy] = guess
    ? [Math.min(Math.max(guess[0], 0), widthPx - 1), Math.min(Math.max(guess[1], 0), heightPx - 1)]
    : [null, null];

  // The doubt's own width says how near to look: what may be anywhere is looked for in the whole photo.
  const spread = guess && !thing?.seen ? state.followed.uncertaintyPx(guess) : 0;
  const zoom = Math.min(2.6, Math.max(1, widthPx / (8 * spread + 0.2 * widthPx)));
  useEffect(() => {
    if (gx !== null && gy !== null) view.current?.lookAt([gx, gy], zoom);
    else view.current?.whole();
    // eslint-disable-next-line react-hooks/exhaustive-deps -- looks once for each thing, not again when a tap is moved
  }, [asked]);

  const answer = (index: number, value: ThingAnswer) => {
    const next = things.map((_, i) => (i === index ? value : (answers[i] ?? null)));
    setAnswers(next);
    setMore(false);
    keepOutlineDraft(draftName, { answers: next } satisfies AskDraft, Date.now());
  };
  const answered = answers.map((value, index) => ({ value, index })).filter(({ value }) => value !== null);
  const handles: StageHandle[] = answered.flatMap(({ value, index }) =>
    value === 'absent' || value === null
      ? []
      : [{ key: String(index), at: value, label: nameOf(things[index] as ThingToFind, index) }],
  );
  const follows = state.found > 0;
  const saveAll = async (previous: FormResult, data: FormData): Promise<FormResult> => {
    const result = await save(previous, data);
    if (result.ok) forgetOutlineDraft(draftName);
    return result;
  };

  if (drawing) {
    return (
      <>
        <button type="button" onClick={() => setDrawing(false)}>
          Back to finding things
        </button>
        {byHand}
      </>
    );
  }
  return (
    <div>
      {thing && asked !== null ? (
        <div className="ask-top">
          <Cutout {...thing.from} label={`${nameOf(thing, asked)} on ${thing.from.day}`} />
          <div aria-live="polite">
            <strong>{thing.name ? `Find the ${thing.name}` : 'Find this place'}</strong>
            <p className="soft">
              As it was on {thing.from.day}. Tap where it is in the photo below; the ring shows where it is thought to
              be.
            </p>
            <ol className="ask-steps" aria-label={`${state.found} of ${WANTED} found`}>
              {Array.from({ length: WANTED }, (_, i) => (
                <li key={i} className={i < state.found ? 'is-done' : ''} />
              ))}
            </ol>
          </div>
        </div>
      ) : (
        <p className={state.tooLittle || state.loose ? 'notice' : 'notice notice-good'} role="status">
          {state.tooLittle
            ? 'Too little of it is in this photo to go by. Outline it by hand, or move the outlines together.'
            : state.loose
              ? 'The outlines follow what you found, but little of it lies near them. Look at each corner before you save; find more things, or outline by hand where they sit wrong.'
              : 'The outlines now follow what you found. Where they sit right, save them; a tap can still be dragged.'}
        </p>
      )}
      {state.misfit !== null && (
        <p className="notice">
          {nameOf(things[state.misfit] as ThingToFind, state.misfit)} does not fit the others. Look at it again: drag
          its ring, or{' '}
          <button type="button" className="button-plain" onClick={() => answer(state.misfit as number, null)}>
            ask again
          </button>
          .
        </p>
      )}
      <PhotoStage
        photoId={photoId}
        widthPx={widthPx}
        heightPx={heightPx}
        alt={alt}
        label="Things to find"
        view={view}
        handles={handles}
        onTap={(place) => asked !== null && answer(asked, place)}
        onDrag={(key, to, done) =>
          done ? answer(Number(key), to) : setAnswers(answers.map((old, i) => (i === Number(key) ? to : old)))
        }
        overlay={
          guess &&
          thing && (
            <span
              className="guess-ring"
              style={{ left: `${((guess[0] + 0.5) / widthPx) * 100}%`, top: `${((guess[1] + 0.5) / heightPx) * 100}%` }}
            />
          )
        }
      >
        <OutlineShapes
          outlines={state.plots.map((plot) => ({ ...plot, accepted: state.done && !state.tooLittle }))}
          names={new Map(names.map(({ id, name }) => [id, name]))}
          picked={new Set()}
        />
      </PhotoStage>
      <div className="row outline-tools">
        {thing && asked !== null && guess && (
          <>
            <button type="button" onClick={() => answer(asked, [gx as number, gy as number])}>
              It is in the ring
            </button>
            <button type="button" onClick={() => answer(asked, 'absent')}>
              Not in this photo
            </button>
          </>
        )}
        {answered.length > 0 && (
          <button type="button" onClick={() => answer((answered.at(-1) as { index: number }).index, null)}>
            Step back
          </button>
        )}
        {state.done && unanswered >= 0 && asked === null && (
          <button type="button" onClick={() => setMore(true)}>
            Find one more
          </button>
        )}
        <button type="button" onClick={() => setDrawing(true)}>
          Outline by hand instead
        </button>
      </div>
      {follows && state.done && !state.tooLittle && (
        <ActionForm action={saveAll} submit="Save the outlines and measure" busy="Measuring …">
          <input type="hidden" name="outlines" value={JSON.stringify([...kept, ...state.plots])} />
          <input
            type="hidden"
            name="found"
            value={JSON.stringify(
              answered.map(({ value, index }) => {
                const { landmarkId, from } = things[index] as ThingToFind;
                return {
                  landmarkId,
                  from: { photoId: from.photoId, at: from.at },
                  at: value === 'absent' ? null : value,
                };
              }),
            )}
          />
        </ActionForm>
      )}
    </div>
  );
}

const nameOf = (thing: ThingToFind, index: number) => thing.name || `Place ${index + 1}`;
