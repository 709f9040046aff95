import '../../_parts/trials.css';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { PrintButton } from '@/app/_ui/print-button';
import { findLawn } from '@/lib/diary/lawns';
import { listSprayers } from '@/lib/diary/sprayers';
import { findTrial } from '@/lib/diary/trials';
import { CAUTIONS } from '@/lib/spray/cautions';
import { showLength } from '@/lib/units/display';
import { treatmentMixes } from '@/lib/work/trials/treatment-mixes';
import { MixTable } from '../../_parts/mix-table';
import { StakeTable } from '../../_parts/stake-table';
import { TrialMapView } from '../../_parts/trial-map-view';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Strip map' };

export default async function MapPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('looks', { trial: (await params).id });
  const trial = await findTrial((await params).id);
  const lawn = trial ? await findLawn(trial.lawnId) : null;
  if (!trial || !lawn) notFound();
  const sprayers = await listSprayers(lawn.id);
  const { layout } = trial;
  return (
    <div className="report">
      <div className="row row-end">
        <h1>{trial.name}: strip map</h1>
        <div className="row no-print">
          <PrintButton />
          <Link className="button" href={`/trials/${trial.id}`}>
            Back
          </Link>
        </div>
      </div>
      <section className="sheet">
        <TrialMapView id="print" trial={trial} system={lawn.unitSystem} stakes />
      </section>
      <section className="sheet">
        <h2>Stakes</h2>
        <p>
          Distances from the near-left stake: first along the near edge to the right, then away from you. The corner is
          square when both diagonals of the trial measure {showLength(layout.diagonalM, lawn.unitSystem, 4).text}.
        </p>
        <StakeTable layout={layout} system={lawn.unitSystem} />
      </section>
      <section className="sheet new-page">
        <h2>What to mix</h2>
        <MixTable mixes={treatmentMixes(trial, sprayers[0] ?? null)} system={lawn.unitSystem} links={false} />
        <h3>Cautions</h3>
        <ul>
          {CAUTIONS.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      </section>
    </div>
  );
}
