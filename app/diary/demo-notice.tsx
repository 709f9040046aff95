import Link from 'next/link';
import { LookAgain } from '@/app/_ui/look-again';
import type { DemoState } from '@/lib/work/diary/demo-lawn';
import { takeDemoOut } from './demo-actions';

/** On the demo lawn: that it is one, how far it is, and the way out. */
export function DemoNotice({ state, lawnId }: { state: DemoState; lawnId: string }) {
  if (state.kind === 'none' || state.kind === 'starting' || state.lawnId !== lawnId) return null;
  if (state.kind === 'drawing')
    return (
      <LookAgain>{`The demo lawn is being drawn: ${state.photos} of ${state.ofPhotos} photos are there. This page looks again by itself.`}</LookAgain>
    );
  return (
    <div className="notice notice-plain row row-end">
      <span>
        {state.kind === 'stopped'
          ? 'The demo lawn was cut short. Take it out, then write it again.'
          : 'This is the demo lawn: place, products, sprays and photos are invented.'}
      </span>
      <span className="row">
        <Link className="button" href="/lawn?new">
          Set up your own
        </Link>
        <form action={takeDemoOut}>
          <button type="submit" className="button-plain">
            Take the demo out
          </button>
        </form>
      </span>
    </div>
  );
}
