import '../_parts/trials.css';
import type { Metadata } from 'next';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { dateText, dayText } from '@/lib/units/dates';
import { ForgetDraft } from '@/app/plan/_bench/forget-draft';
import { listShareLinks } from '@/lib/diary/share-links';
import { listSprayers } from '@/lib/diary/sprayers';
import { labelOf, readTrial, treatmentOf } from '@/lib/work/trials/trial-record';
import { trialDays } from '@/lib/work/trials/trial-days';
import { treatmentMixes } from '@/lib/work/trials/treatment-mixes';
import { removeTrial } from '../actions';
import { DESIGN_WORDS } from '../_parts/design-words';
import { MixTable } from '../_parts/mix-table';
import { DueList } from './due-list';
import { ReadingMatrix } from './reading-matrix';
import { ShareBox } from './share-box';
import { TrialMapView } from '../_parts/trial-map-view';
import { askPage, Rights } from '@/app/_ui/rights';
import { mayDo } from '@/lib/work/people/rights';

export const metadata: Metadata = { title: 'A trial' };

export default async function TrialPage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('looks', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) notFound();
  const keeps = await mayDo('keeps', { lawn: record.lawn.id });
  const { trial, lawn } = record;
  const [links, sprayers] = await Promise.all([listShareLinks(trial.id), listSprayers(lawn.id)]);
  const due = trialDays(record, new Date());
  const base = `/trials/${trial.id}`;
  const justLaidOut = (await searchParams)['laid'] !== undefined;
  return (
    <>
      <Rights lawnId={record.lawn.id} forms="keeps" />
      {justLaidOut && <ForgetDraft draftKey="draft:trial-design" />}
      <div className="row row-end">
        <h1>{trial.name}</h1>
        <div className="row">
          <Link className="button button-main" href={`${base}/analysis`}>
            Analysis
          </Link>
          <Link className="button" href={`${base}/rate`}>
            Rate blind
          </Link>
          <Link className="button" href={`${base}/on-site`}>
            On the lawn
          </Link>
          <Link className="button" href={`${base}/report`}>
            Report
          </Link>
          <Link className="button" href={`${base}/edit`}>
            Change
          </Link>
        </div>
      </div>
      {trial.question && <p>{trial.question}</p>}
      <p className="soft">
        {DESIGN_WORDS[trial.design]}, {trial.blocks} {trial.blocks === 1 ? 'replicate' : 'replicates'},{' '}
        {trial.plots.length} strips. Order drawn with seed {trial.seed}.{' '}
        {record.firstSprayAt
          ? `First sprayed ${dayText(record.firstSprayAt, lawn)}.`
          : `First spray planned for ${dateText(trial.startsOn, lawn)}.`}
      </p>
      {record.spraysBefore.length > 0 && (
        <p className="notice notice-plain">
          {record.spraysBefore.length} {record.spraysBefore.length === 1 ? 'spray' : 'sprays'} on these plots, the last{' '}
          {dayText(record.spraysBefore.at(-1)?.startedAt ?? new Date(), lawn)}, came before the planned first day and{' '}
          {record.spraysBefore.length === 1 ? 'isn’t' : 'aren’t'} counted.{' '}
          <Link href={`${base}/edit`}>Move the day</Link> if{' '}
          {record.spraysBefore.length === 1 ? 'it belongs' : 'they belong'} to the trial.
        </p>
      )}
      <BeingWorkedOut lawnId={lawn.id} photos={record.pending} />
      {trial.causeTest && (
        <section className="sheet">
          <h2>How to find out</h2>
          <p>
            It tests what made a mark on {trial.causeTest.plotName}. Photograph, then spray in this order
            {trial.causeTest.hoursLater !== null &&
              `, those of the later hour ${trial.causeTest.hoursLater} h after the first`}
            :
          </p>
          <ol>
            {trial.causeTest.order.map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ol>
          <p className="soft">
            Rinse between mixes. On each photo day rate the haze blind first: 9 is none, 1 all over. {trial.note}
          </p>
        </section>
      )}
      <div className="split">
        <div>
          <section className="sheet">
            <h2>What is due</h2>
            <DueList due={due} base={base} reader={lawn} />
            <a className="button" href={`${base}/calendar`}>
              Photo days for your calendar (.ics)
            </a>
          </section>
          <section className="sheet">
            <h2>Readings</h2>
            <ReadingMatrix record={record} />
          </section>
          <section className="sheet">
            <h2>What to mix</h2>
            <MixTable mixes={treatmentMixes(trial, sprayers[0] ?? null)} system={lawn.unitSystem} />
          </section>
        </div>
        <div>
          <section className="sheet">
            <div className="row row-end">
              <h2>Strip map</h2>
              <Link className="button" href={`/cards?trial=${trial.id}`}>
                Plot cards
              </Link>
              <Link className="button" href={`${base}/map`}>
                To print
              </Link>
            </div>
            <TrialMapView id="trial" trial={trial} system={lawn.unitSystem} />
            <ul className="soft">
              {trial.plots.map((plot) => (
                <li key={plot.plotId}>
                  {labelOf(trial, plot.plotId)} · {treatmentOf(trial, plot)}
                  {plot.excludedReason && ` · left out: ${plot.excludedReason}`}
                </li>
              ))}
            </ul>
          </section>
          <section className="sheet">
            <h2>Show it to others</h2>
            {keeps && (
              <ShareBox
                trialId={trial.id}
                links={links.map((link) => ({
                  id: link.id,
                  made: dayText(link.createdAt, lawn),
                  revoked: link.revokedAt !== null,
                }))}
              />
            )}
            <h3>As a table</h3>
            <div className="row">
              <a className="button" href={`${base}/values.csv`}>
                Values (CSV)
              </a>
              <a className="button" href={`${base}/columns.csv`}>
                What the columns mean (CSV)
              </a>
            </div>
          </section>
          <details className="sheet for-keeps">
            <summary>Remove this trial</summary>
            <p className="soft">Its plots, photos and sprays stay in the diary.</p>
            <form action={removeTrial.bind(null, trial.id)}>
              <button type="submit" className="button-warn">
                Move to the bin
              </button>
            </form>
          </details>
        </div>
      </div>
    </>
  );
}
