import '@/app/trials/_parts/trials.css';
import { randomInt } from 'node:crypto';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { markKindWords } from '@/app/_ui/mark-words';
import { listSprayers } from '@/lib/diary/sprayers';
import { showTyped } from '@/lib/units/display';
import { fromM } from '@/lib/units/length';
import { causesOfMark } from '@/lib/work/photos/find-causes';
import { localOfInstant } from '@/lib/work/diary/lawn-time';
import { proposeCauseTest } from '@/lib/work/trials/test-a-cause';
import { CAUTIONS } from '@/lib/spray/cautions';
import { layOutTest } from './actions';
import { FindOutForm } from './find-out-form';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Find out' };

export default async function FindOutPage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('keeps', { mark: (await params).id });
  const { id } = await params;
  const { spray: asked } = await searchParams;
  const sprayId = typeof asked === 'string' ? asked : undefined;
  const causes = await causesOfMark(id, sprayId);
  if (!causes) notFound();
  const { mark, lawn } = causes;
  const proposal = await proposeCauseTest(causes);
  const sprayers = await listSprayers(lawn.id);
  const unit = lawn.unitSystem === 'metric' ? 'm' : 'ft';
  const swathM = sprayers.find((sprayer) => sprayer.swathM !== null)?.swathM ?? (unit === 'm' ? 0.75 : 0.762);
  return (
    <>
      <div className="row row-end">
        <h1>
          Find out: {markKindWords[mark.kind].toLowerCase()} on {mark.plotName}
        </h1>
        <Link className="button" href={`/marks/${mark.id}`}>
          Back to the mark
        </Link>
      </div>
      {proposal === null || proposal.possible.length === 0 ? (
        <p className="notice">No spray before this mark holds anything that could be changed in a trial.</p>
      ) : (
        <>
          <p>
            The spray that may have made it is laid again on small strips, with one thing changed at a time and in
            combination. Where the mark comes back tells more than any record: it is the strongest evidence there is, on
            this ground and in that weather.
          </p>
          <p className="soft">
            Sprayed then:{' '}
            {proposal.sprayed
              .map(
                (item) =>
                  `${item.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, lawn.unitSystem).text}`,
              )
              .join(', ')}
            .
          </p>
          <section className="sheet">
            <FindOutForm
              action={layOutTest.bind(null, mark.id, sprayId ?? null)}
              back={`/marks/${mark.id}`}
              possible={proposal.possible.map((factor) => factor.id)}
              suggested={proposal.suggested}
              name={`What made the mark on ${mark.plotName}`.slice(0, 80)}
              startsOn={localOfInstant(new Date(), lawn.timeZone).slice(0, 10)}
              seed={randomInt(1, 1_000_000)}
              unit={unit}
              swath={String(Number(fromM(swathM, unit).value.toPrecision(4)))}
              photoDays={proposal.photoDays}
              hoursLater={proposal.hoursLater}
            />
          </section>
          <section className="sheet">
            <h2>Cautions</h2>
            <p>
              This trial means to bring a damage back. Take ground that may look poor for some weeks, and stay within
              each label’s rate, interval and season cap: it counts towards them.
            </p>
            <ul>
              {CAUTIONS.map((caution) => (
                <li key={caution}>{caution}</li>
              ))}
            </ul>
          </section>
        </>
      )}
    </>
  );
}
