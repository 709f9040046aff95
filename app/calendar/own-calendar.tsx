'use client';
import { useActionState, useSyncExternalStore } from 'react';
import type { FormResult } from '@/lib/forms/result';
import { makeCalendarAddress, revokeCalendarAddress } from './actions';

const FILE = '/api/calendar.ics';
const never = () => () => {};

/**
 * The lawn's days for the calendar one uses anyway: as a file, or under a private address that it looks up by itself.
 */
export function OwnCalendar({ lawnId, hasAddress }: { lawnId: string; hasAddress: boolean }) {
  const [state, make, pending] = useActionState<FormResult>(() => makeCalendarAddress(lawnId), { ok: true });
  const origin = useSyncExternalStore(
    never,
    () => location.origin,
    () => '',
  );
  return (
    <section className="sheet">
      <h2>In your own calendar</h2>
      <p>Photo days after each spray, ratings, trials, plans, and when a product’s label lets it go on again.</p>
      <div className="row">
        <a className="button" href={FILE}>
          As a file (.ics)
        </a>
        <form action={make}>
          <button type="submit" disabled={pending} className="button-plain">
            {hasAddress ? 'Make a new private address' : 'Make a private address'}
          </button>
        </form>
        {hasAddress && (
          <form action={revokeCalendarAddress.bind(null, lawnId)}>
            <button type="submit" className="button-warn">
              Revoke the address
            </button>
          </form>
        )}
      </div>
      <div aria-live="polite">
        {state.ok && state.message && hasAddress && (
          <>
            <p className="notice notice-good">
              Give this address to your calendar as one to subscribe to. Copy it now: only its fingerprint is kept.
              Whoever has it can read these days and nothing else.
            </p>
            <p className="share-address">
              <a href={state.message}>{`${origin}${state.message}`}</a>
            </p>
          </>
        )}
      </div>
      <p className="soft">
        An earlier address opens nothing once there is a new one. A calendar on another device needs this diary to be
        reachable from there.
      </p>
    </section>
  );
}
