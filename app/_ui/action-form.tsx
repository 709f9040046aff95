'use client';
import Link from 'next/link';
import {
  createContext,
  Fragment,
  useActionState,
  useContext,
  useEffect,
  useRef,
  useState,
  useTransition,
  type ReactNode,
} from 'react';
import type { FormResult } from '@/lib/forms/result';
import { type DraftEntries, endDraft, fillFrom, keepDraft, readDraft } from './draft';

const none: Readonly<Record<string, string>> = {};
const Errors = createContext(none);
const Draft = createContext<DraftEntries | null>(null);

/** The sentence for one field, if the last answer had one. */
export function useFieldError(name: string): string | undefined {
  return useContext(Errors)[name];
}

/**
 * What had been typed into this form before, for components that hold their fields themselves; null when nothing had.
 */
export function useDraft(): DraftEntries | null {
  return useContext(Draft);
}

/** An action that ends by going to another page gives no answer: it throws this, and by then all is saved. */
const isRedirect = (error: unknown) =>
  typeof error === 'object' && error !== null && 'digest' in error && String(error.digest).startsWith('NEXT_REDIRECT');

/**
 * A form that posts to a server action and keeps everything typed: on a refusal the inputs stay as they are and each
 * wrong field says what was expected. With `draftKey`, typing survives a reload of the page as well: the form says that
 * it is back, and the draft ends with the save that succeeds.
 */
export function ActionForm({
  action,
  submit,
  busy = 'Saving …',
  draftKey,
  children,
  secondary,
}: {
  action: (previous: FormResult, data: FormData) => Promise<FormResult>;
  submit: string;
  busy?: string;
  draftKey?: string;
  children: ReactNode;
  secondary?: ReactNode;
}) {
  // The action itself stands in the form, so that it works before (and without) any script; a script posts it and knows
  // how it ended.
  const [posted, dispatch] = useActionState(action, { ok: true });
  const [answered, setAnswered] = useState<FormResult | null>(null);
  const [pending, startPosting] = useTransition();
  const state = answered ?? posted;
  const post = (data: FormData) =>
    startPosting(async () => {
      try {
        const result = await action(state, data);
        if (result.ok && draftKey) endDraft(draftKey);
        setAnswered(result);
      } catch (error) {
        if (draftKey && isRedirect(error)) endDraft(draftKey);
        throw error;
      }
    });
  const form = useRef<HTMLFormElement>(null);
  const [draft, setDraft] = useState<DraftEntries | null>(null);
  // Raised when the fields are to be built anew: with the draft, or empty again.
  const [round, setRound] = useState(0);

  // The page is the answer to a form that was sent before any script was awake.
  const [sentAsleep] = useState(!posted.ok);

  useEffect(() => {
    const restore = () => {
      // What public/keep-typed.js kept of it.
      const sent = `sent ${location.pathname}`;
      const kept = sentAsleep ? readDraft(sent) : draftKey ? readDraft(draftKey) : null;
      if (sentAsleep) endDraft(sent);
      if (kept === null) return;
      setDraft(kept);
      setRound((before) => before + 1);
    };
    restore();
  }, [draftKey, sentAsleep]);

  useEffect(() => {
    if (draft && form.current) fillFrom(draft, form.current);
  }, [draft]);

  // A sentence that stands at its field is not said a second time below.
  const [atField, setAtField] = useState(false);
  useEffect(() => {
    const wrong = state.ok ? null : form.current?.querySelector<HTMLElement>('[aria-invalid="true"]');
    wrong?.focus();
    setAtField(!state.ok && wrong != null && Object.values(state.errors).includes(state.message));
  }, [state]);

  const keep = () => {
    if (draftKey && form.current) keepDraft(draftKey, form.current);
  };
  const startEmpty = () => {
    if (draftKey) endDraft(draftKey);
    setDraft(null);
    setRound((before) => before + 1);
  };

  return (
    <Errors.Provider value={state.ok ? none : state.errors}>
      <form
        ref={form}
        className="stack"
        action={dispatch}
        noValidate
        onInput={keep}
        onSubmit={(event) => {
          event.preventDefault();
          const submitter = (event.nativeEvent as SubmitEvent).submitter;
          const data = new FormData(event.currentTarget, submitter);
          post(data);
        }}
      >
        {draft && (
          <div className="notice notice-plain row row-end" role="status">
            <span>What you had typed here and not saved is back.</span>
            <button type="button" onClick={startEmpty}>
              Start without it
            </button>
          </div>
        )}
        <Draft.Provider value={draft}>
          <Fragment key={round}>{children}</Fragment>
        </Draft.Provider>
        <div aria-live="polite">
          {!state.ok && (
            <p className="notice notice-bad">
              {atField
                ? 'Not saved yet: one entry above needs another look. Nothing you typed is lost.'
                : state.message}
            </p>
          )}
          {state.ok && state.message && (
            <p className="notice notice-good">
              {state.message}{' '}
              {state.next && (
                <Link className="button" href={state.next.href}>
                  {state.next.label}
                </Link>
              )}
            </p>
          )}
        </div>
        {!state.ok && state.ask !== undefined && (
          <label className="tick">
            <input key={state.ask} type="checkbox" name="sure" value={state.ask} />
            <span>Yes, it is as I typed it</span>
          </label>
        )}
        <div className="row">
          <button type="submit" disabled={pending}>
            {pending ? busy : submit}
          </button>
          {secondary}
        </div>
      </form>
    </Errors.Provider>
  );
}
