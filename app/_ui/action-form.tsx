'use client';
import { createContext, startTransition, useActionState, useContext, useEffect, useRef, type ReactNode } from 'react';
import type { FormResult } from '@/lib/forms/result';

const none: Readonly<Record<string, string>> = {};
const Errors = createContext(none);

/** The sentence for one field, if the last answer had one. */
export function useFieldError(name: string): string | undefined {
  return useContext(Errors)[name];
}

/**
 * A form that posts to a server action and keeps everything typed: on a refusal the inputs stay as they are
 * and each wrong field says what was expected. With `draftKey`, typing survives a reload of the page as well.
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
  const [state, dispatch, pending] = useActionState(action, { ok: true });
  const form = useRef<HTMLFormElement>(null);

  useEffect(() => {
    if (!draftKey || !form.current) return;
    const kept = sessionStorage.getItem(`draft:${draftKey}`);
    if (!kept) return;
    for (const [name, value] of JSON.parse(kept) as [string, string][]) {
      const input = form.current.elements.namedItem(name);
      if (input instanceof HTMLInputElement && input.type !== 'checkbox' && input.type !== 'hidden') input.value = value;
      else if (input instanceof HTMLSelectElement || input instanceof HTMLTextAreaElement) input.value = value;
    }
  }, [draftKey]);

  useEffect(() => {
    if (!state.ok) {
      const first = form.current?.querySelector<HTMLElement>('[aria-invalid="true"]');
      first?.focus();
    } else if (draftKey && state.message !== undefined) {
      sessionStorage.removeItem(`draft:${draftKey}`);
    }
  }, [state, draftKey]);

  const keepDraft = () => {
    if (!draftKey || !form.current) return;
    const entries = [...new FormData(form.current).entries()].filter(([, value]) => typeof value === 'string');
    sessionStorage.setItem(`draft:${draftKey}`, JSON.stringify(entries));
  };

  return (
    <Errors.Provider value={state.ok ? none : state.errors}>
      <form
        ref={form}
        className="stack"
        action={dispatch}
        noValidate
        onInput={keepDraft}
        onSubmit={(event) => {
          event.preventDefault();
          const submitter = (event.nativeEvent as SubmitEvent).submitter;
          const data = new FormData(event.currentTarget, submitter);
          startTransition(() => dispatch(data));
        }}
      >
        {children}
        <div aria-live="polite">
          {!state.ok && <p className="notice notice-bad">{state.message}</p>}
          {state.ok && state.message && <p className="notice notice-good">{state.message}</p>}
        </div>
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
