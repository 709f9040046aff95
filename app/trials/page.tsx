import './_parts/trials.css';
import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { listTrials, type Trial } from '@/lib/diary/trials';
import { trialsOver } from '@/lib/work/diary/lawn-due';
import { DESIGN_WORDS } from './_parts/design-words';
import { dateText } from '@/lib/units/dates';
import { Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Trials' };

export default async function TrialsPage() {
  const lawn = await currentLawn();
  const trials = lawn ? await listTrials(lawn.id) : [];
  if (!lawn || trials.length === 0) {
    return (
      <div className="teach">
        <h1>Trials</h1>
        <p>
          A trial puts treatments side by side on the same lawn, in an order drawn by lot, with an unsprayed check.
          Photos and blind ratings then say what each treatment did, and how surely. Two blocks can be compared; four
          show half the difference.
        </p>
        <Link className="button button-main" href={lawn ? '/trials/new' : '/lawn'}>
          {lawn ? 'Lay out a trial' : 'Set up your lawn first'}
        </Link>
      </div>
    );
  }
  const { trialIds: over } = await trialsOver(lawn, new Date());
  // Where all are over, none need be looked for.
  const away = over.size === trials.length ? new Set<string>() : over;
  const entry = (trial: Trial) => (
    <section key={trial.id} className="sheet">
      <h2>
        <Link href={`/trials/${trial.id}`}>{trial.name}</Link>
      </h2>
      {trial.question && <p>{trial.question}</p>}
      <p className="soft">
        {DESIGN_WORDS[trial.design]}, {trial.plots.length} strips,{' '}
        {trial.treatments.map((treatment) => treatment.name).join(' · ')}. From {dateText(trial.startsOn, lawn)}
        {over.has(trial.id) ? ', finished' : ''}.
      </p>
    </section>
  );
  return (
    <>
      {lawn && <Rights lawnId={lawn.id} quiet />}
      <div className="row row-end">
        <h1>Trials</h1>
        <Link className="button button-main" href="/trials/new">
          Lay out a trial
        </Link>
      </div>
      {trials.filter((trial) => !away.has(trial.id)).map(entry)}
      {away.size > 0 && (
        <details>
          <summary>
            {away.size} finished {away.size === 1 ? 'trial' : 'trials'}
          </summary>
          {trials.filter((trial) => away.has(trial.id)).map(entry)}
        </details>
      )}
    </>
  );
}
