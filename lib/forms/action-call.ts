import { currentVisit, VisitRefused } from '@/lib/visit';
import { idField } from './fields';

/**
 * What an action was given: anybody may call one with anything, so nothing of it is what its type says until it was
 * looked at.
 */
export interface ActionCall {
  /** Identifiers bound to the form. */
  readonly ids?: readonly unknown[];
  /** Identifiers that may be missing: null for what is made anew. */
  readonly optionalIds?: readonly unknown[];
  /** Keys of drafts. */
  readonly keys?: readonly unknown[];
  /** The form itself. */
  readonly form?: unknown;
}

const isId = (value: unknown): boolean => idField.safeParse(value).success;
const isKey = (value: unknown): boolean => typeof value === 'string' && /^[\x20-\x7e]{1,200}$/.test(value);

/**
 * The first line of every action: looks at all it was given before anything is read or written.
 * @throws VisitRefused, answered as 400 with its sentence
 */
export function expectCall(call: ActionCall): void {
  const visit = currentVisit();
  if (visit !== null) visit.began = true;
  if (!(call.ids ?? []).every(isId) || !(call.optionalIds ?? []).every((value) => value === null || isId(value))) {
    throw new VisitRefused(400, 'Expected an entry of this diary, got something else.');
  }
  if (!(call.keys ?? []).every(isKey))
    throw new VisitRefused(400, 'Expected the key of a draft of this diary, got something else.');
  if (Object.hasOwn(call, 'form') && !(call.form instanceof FormData))
    throw new VisitRefused(400, 'Expected a form of this diary’s pages, got something else.');
}

/** An identifier out of a form. @throws VisitRefused, answered as 400 with its sentence */
export function idOf(form: FormData, name = 'id'): string {
  const parsed = idField.safeParse(form.get(name));
  if (!parsed.success)
    throw new VisitRefused(
      400,
      parsed.error.issues[0]?.message ?? 'Expected an entry of this diary, got something else.',
    );
  return parsed.data;
}
