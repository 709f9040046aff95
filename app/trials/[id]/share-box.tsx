'use client';
import { useActionState, useSyncExternalStore } from 'react';
import type { FormResult } from '@/lib/forms/result';
import { makeShareLink, revokeLink } from '../actions';

const never = () => () => {};

/** Makes and revokes read-only links to the report. An address is shown once, right after it was made. */
export function ShareBox({
  trialId,
  links,
}: {
  trialId: string;
  links: { id: string; made: string; revoked: boolean }[];
}) {
  const [state, make, pending] = useActionState<FormResult>(() => makeShareLink(trialId), { ok: true });
  const origin = useSyncExternalStore(
    never,
    () => location.origin,
    () => '',
  );
  return (
    <>
      <p className="soft">
        A link shows this trial’s report to whoever has it: no place, no coordinates, photos without camera data. Revoke
        it and it opens nothing.
      </p>
      <form action={make}>
        <button type="submit" disabled={pending} className="button">
          Make a read-only link
        </button>
      </form>
      <div aria-live="polite">
        {state.ok && state.message && (
          <>
            <p className="notice notice-good">Copy it now: only its fingerprint is kept, so it can’t be shown again.</p>
            <p className="share-address">
              <a href={state.message}>{`${origin}${state.message}`}</a>
            </p>
          </>
        )}
      </div>
      <ul className="due-list">
        {links.map((link) => (
          <li key={link.id} className="row row-end">
            <span>
              Link of {link.made}
              {link.revoked && ', revoked'}
            </span>
            {!link.revoked && (
              <form action={revokeLink.bind(null, trialId)}>
                <input type="hidden" name="id" value={link.id} />
                <button type="submit" className="button-warn">
                  Revoke
                </button>
              </form>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}
