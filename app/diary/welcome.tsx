import Link from 'next/link';
import { LookAgain } from '@/app/_ui/look-again';
import type { DemoState } from '@/lib/work/diary/demo-lawn';
import { writeDemo } from './demo-actions';

/** The first page of an empty diary. */
export function Welcome({ demo }: { demo: DemoState }) {
  return (
    <div className="teach">
      <h1>Did the spray make it greener, or was it the light?</h1>
      <p>
        Swathbook is a diary for sprayed lawns: write down what went where, and photograph the plots from the same place
        before and after. It measures the colour of every plot in every photo against an unsprayed check beside it, so
        that changing light cancels out. You see what a product did, what it cost, where it burned, and what to change
        next time.
      </p>
      <div className="row">
        <Link className="button button-main" href="/lawn">
          Set up your lawn
        </Link>
        {demo.kind === 'none' && (
          <form action={writeDemo} className="row">
            <button type="submit" className="button-plain" name="setting" value="us-warm">
              Look at the demo lawn first
            </button>
            <button type="submit" className="button-plain" name="setting" value="metric-cool">
              The same in metric units
            </button>
          </form>
        )}
      </div>
      {demo.kind === 'starting' && (
        <LookAgain>The demo lawn is being drawn, about a minute. It opens by itself.</LookAgain>
      )}
      <p className="soft" style={{ marginTop: '0.75rem' }}>
        The demo lawn is invented, takes about a minute to draw, and can be taken out again. <code>npm run demo</code>{' '}
        opens it in a diary of its own. Everything stays on this machine.
      </p>
    </div>
  );
}
