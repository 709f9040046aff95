import Link from 'next/link';
import { currentLawn } from './_ui/current-lawn';
import { dayKey } from './_ui/dates';
import { Day } from './diary/day';
import { listPlots, type Plot } from '@/lib/diary/plots';
import { readTimeline, type TimelineEntry } from '@/lib/work/timeline';
import { readDiaryQuery } from '@/lib/forms/diary-query';

export default async function DiaryPage({ searchParams }: { searchParams: Promise<Record<string, string | string[] | undefined>> }) {
  const lawn = await currentLawn();
  if (!lawn) return <Welcome />;
  const query = readDiaryQuery(await searchParams);
  const [plots, timeline] = await Promise.all([listPlots(lawn.id), readTimeline(lawn.id, query)]);
  const days = new Map<string, TimelineEntry[]>();
  for (const entry of timeline.entries) {
    const key = dayKey(entry.at, lawn.timeZone);
    days.set(key, [...(days.get(key) ?? []), entry]);
  }
  return (
    <>
      <div className="row row-end">
        <h1>Diary</h1>
        <div className="row">
          <Link className="button phone-only" href="/capture">
            Take photos
          </Link>
          <Link className="button button-main" href="/plan/new">
            Plan a spray
          </Link>
          <Link className="button" href="/sprays/new">
            Log a spray
          </Link>
          <Link className="button" href="/photos">
            Add photos
          </Link>
        </div>
      </div>
      <div className="row" style={{ marginBottom: '0.75rem' }}>
        <form action="/find" role="search" className="row find-line">
          <input type="search" name="q" aria-label="Find in the diary" placeholder="Find a product, note, viewpoint …" />
          <button type="submit" className="button-plain">
            Find
          </button>
        </form>
        <Link className="button" href="/calendar">
          Calendar
        </Link>
        <Link className="button" href="/bin">
          Bin
        </Link>
      </div>
      <Filters plots={plots} query={query} />
      {days.size === 0 ? (
        <Teach plots={plots} filtered={query.show !== 'all' || query.plotId !== undefined || query.before !== undefined} />
      ) : (
        <ol className="days">
          {[...days.values()].map((entries) => (
            <Day key={entries[0]?.at.toISOString()} entries={entries} timeZone={lawn.timeZone} system={lawn.unitSystem} />
          ))}
        </ol>
      )}
      {timeline.next && (
        <Link className="button" href={`/?${linkQuery({ ...query, before: timeline.next })}`}>
          Earlier
        </Link>
      )}
    </>
  );
}

function linkQuery(query: ReturnType<typeof readDiaryQuery>): string {
  return new URLSearchParams({
    ...(query.show === 'all' ? {} : { show: query.show }),
    ...(query.plotId ? { plot: query.plotId } : {}),
    ...(query.before ? { before: query.before.toISOString() } : {}),
  }).toString();
}

function Filters({ plots, query }: { plots: Plot[]; query: ReturnType<typeof readDiaryQuery> }) {
  const { before: _before, ...rest } = query;
  const kinds = [
    ['all', 'Everything'],
    ['sprays', 'Sprays'],
    ['photos', 'Photos'],
  ] as const;
  return (
    <div className="row" style={{ marginBottom: '1rem' }} role="group" aria-label="Show">
      {kinds.map(([show, label]) => (
        <Link key={show} className="chip" aria-current={query.show === show} href={`/?${linkQuery({ ...rest, show })}`}>
          {label}
        </Link>
      ))}
      {plots.map((plot) => {
        const { plotId, ...others } = rest;
        const on = plotId === plot.id;
        return (
          <Link key={plot.id} className="chip" aria-current={on} href={`/?${linkQuery(on ? others : { ...others, plotId: plot.id })}`}>
            Plot {plot.name}
          </Link>
        );
      })}
    </div>
  );
}

function Teach({ plots, filtered }: { plots: Plot[]; filtered: boolean }) {
  if (filtered) return <p className="soft">Nothing here under this filter.</p>;
  return (
    <div className="teach">
      <h2>Nothing written yet</h2>
      <p>The diary shows sprays and photos on one line of time. A first answer takes four steps:</p>
      <ol>
        <li>
          <Link href="/lawn#plots">Mark out plots</Link>
          {plots.length > 0 ? ` (${plots.length} so far)` : ''}: the ones you spray and one check that stays unsprayed.
        </li>
        <li>Photograph them together from one place, before you spray.</li>
        <li>
          <Link href="/sprays/new">Log the spray</Link>: what, how much, where.
        </li>
        <li>
          Photograph again from the same place after 1, 3, 7 and 14 days, and <Link href="/photos">add the photos</Link>. Outline the plots once; the colour of each is
          measured, and the change against the check is your answer.
        </li>
      </ol>
    </div>
  );
}

function Welcome() {
  return (
    <div className="teach">
      <h1>Did the spray make it greener, or was it the light?</h1>
      <p>
        Swathbook is a diary for sprayed lawns. It links dated photos to what was sprayed, measures the colour of each plot in each photo, and compares it with an
        unsprayed check in the same photo, so that changing light cancels out.
      </p>
      <p>It flags silvery, blackened, yellowed or scorched patches, and keeps the evidence for your next decision. Everything stays on this machine.</p>
      <Link className="button button-main" href="/lawn">
        Set up your lawn
      </Link>
    </div>
  );
}
