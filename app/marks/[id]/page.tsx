import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { How } from '@/app/_ui/how';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { dayText, momentText, spanText } from '@/lib/units/dates';
import { markKindWords, markStateWords } from '@/app/_ui/mark-words';
import type { MarkKind } from '@/lib/photo/marks/kind';
import { showArea } from '@/lib/units/display';
import { changesIn } from '@/lib/work/photos/changes';
import { viewsOf } from '@/lib/work/photos/plot-cuts';
import { judgeMarkShown } from '../../photos/[id]/actions';
import { causesOfMark } from '@/lib/work/photos/find-causes';
import type { Mark, PatchSighting } from '@/lib/work/photos/marks';
import { CauseReportView } from '../cause-report';
import { MarkPictures } from '../mark-pictures';
import { TestedCauses } from '../tested-causes';
import { askPage, Rights } from '@/app/_ui/rights';
import { By } from '@/app/_ui/by';

export const metadata: Metadata = { title: 'A mark' };

/** What a person says it is, or is not. */
const NAMES: Record<MarkKind, string> = {
  silver: 'a haze',
  blackening: 'a blackening',
  burn: 'a scorch',
  chlorosis: 'a yellowing',
  other: 'a patch',
};

/** So many days of a patch stand in a row. */
const MOST_SHOWN = 24;

/** Of a patch seen in many photos the first, the last and those around one mark. */
function around(thread: readonly PatchSighting[], mark: Mark): readonly PatchSighting[] {
  if (thread.length <= MOST_SHOWN) return thread;
  const at = Math.min(
    Math.max(0, thread.findIndex((one) => one.id === mark.id) - MOST_SHOWN / 2),
    thread.length - MOST_SHOWN,
  );
  const near = thread.slice(at, at + MOST_SHOWN);
  return [...new Set([thread[0]!, ...near, thread.at(-1)!])];
}

export default async function MarkPage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('looks', { mark: (await params).id });
  const { spray: asked } = await searchParams;
  const causes = await causesOfMark((await params).id, typeof asked === 'string' ? asked : undefined);
  if (!causes) notFound();
  const { mark, photo, lawn, thread, spray, clearAt, otherSprays } = causes;
  const first = thread[0] ?? mark;
  const last = thread.at(-1) ?? mark;
  const view = causes.pending
    ? undefined
    : viewsOf(photo.id, await changesIn(lawn.id, [photo.id]), [mark]).find((one) => one.plotId === mark.plotId);
  const it = NAMES[mark.kind];
  return (
    <>
      <Rights lawnId={lawn.id} />
      <h1>
        {markKindWords[mark.kind]} on {mark.plotName}
      </h1>
      <p>
        {markStateWords[mark.state]}, first seen {dayText(first.takenAt, lawn)}
        {last.id !== first.id && `, last seen ${dayText(last.takenAt, lawn)}`}. {(mark.areaShare * 100).toFixed(1)} % of
        the plot
        {mark.areaM2 !== null && ` (${showArea(mark.areaM2, lawn.unitSystem).text})`}
        {mark.severityDeltaE00 !== null && `, off its surroundings by ${mark.severityDeltaE00.toFixed(1)} ΔE00`}.{' '}
        <By words="Said by" id={mark.judgedBy} />
      </p>
      <BeingWorkedOut lawnId={lawn.id} photos={causes.pending ? 1 : 0} />
      <p>
        {clearAt
          ? `It arose between ${dayText(clearAt, lawn)} and ${dayText(first.takenAt, lawn)}: the earlier photo shows this ground without it.`
          : 'No earlier photo shows this ground without it: when it arose is not known.'}
      </p>
      {spray && (
        <p>
          First seen {spanText(spray.startedAt, first.takenAt)} after{' '}
          <Link href={`/sprays/${spray.id}`}>the spray of {momentText(spray.startedAt, lawn)}</Link>.
          {otherSprays.length > 0 && (
            <>
              {' '}
              It may as well have arisen from{' '}
              {otherSprays.map((other, i) => (
                <span key={other.id}>
                  {i > 0 && ', '}
                  <Link href={`/marks/${mark.id}?spray=${other.id}`}>
                    the spray of {momentText(other.startedAt, lawn)}
                  </Link>
                </span>
              ))}
              .
            </>
          )}
        </p>
      )}
      <section className="sheet">
        {view ? <MarkPictures view={view} atMs={photo.takenAt.getTime()} reader={lawn} /> : null}
        <form action={judgeMarkShown} className="row mark-verdict">
          <input type="hidden" name="id" value={mark.id} />
          <input type="hidden" name="kind" value={mark.kind} />
          <button
            type="submit"
            name="state"
            value="confirmed"
            className="button-plain"
            aria-pressed={mark.state === 'confirmed'}
          >
            It is {it}
          </button>
          <button
            type="submit"
            name="state"
            value="dismissed"
            className="button-plain"
            aria-pressed={mark.state === 'dismissed'}
          >
            It is not
          </button>
          <Link href={`/photos/${photo.id}`}>Call it something else, or see the whole photo</Link>
        </form>
        {thread.length > 1 && (
          <p className="row">
            The same patch on{' '}
            {around(thread, mark).map((one) => (
              <Link key={one.id} className="chip" aria-current={one.id === mark.id} href={`/marks/${one.id}`}>
                {dayText(one.takenAt, lawn)}
              </Link>
            ))}
            {thread.length > MOST_SHOWN && (
              <span className="soft">of {thread.length} photos; a day opens the ones around it</span>
            )}
          </p>
        )}
      </section>
      <section className="sheet">
        <h2>What may have made it</h2>
        <p className="soft">
          The record’s evidence, weighed in words. <How to="causes" />
        </p>
        <CauseReportView causes={causes} />
        {spray && (
          <p>
            <Link className="button button-main" href={`/marks/${mark.id}/find-out?spray=${spray.id}`}>
              Find out: test it on small strips
            </Link>
          </p>
        )}
        <TestedCauses tested={causes.record?.tested ?? []} />
      </section>
    </>
  );
}
