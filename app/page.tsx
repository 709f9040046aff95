import Link from 'next/link';
import { dayKey, dayText, readerOf } from '@/lib/units/dates';
import { AnswerView } from './_ui/answer';
import { BeingWorkedOut } from './_ui/being-worked-out';
import { currentLawn } from './_ui/current-lawn';
import { How } from './_ui/how';
import { barScale } from './diary/change-bar';
import { Day } from './diary/day';
import { DueNow } from './diary/due-now';
import { DemoNotice } from './diary/demo-notice';
import { waterText } from './_ui/weather-text';
import { KindRow } from './events/kind-row';
import { SeasonStrip } from './diary/season-strip';
import { FirstSteps } from './diary/first-steps';
import { Welcome } from './diary/welcome';
import { listPlots, type Plot } from '@/lib/diary/plots';
import { latestAnswer } from '@/lib/work/diary/answers';
import { askChangesOnce } from '@/lib/work/photos/changes';
import { seasonBand } from '@/lib/work/response/season-band';
import { dueOnLawn, trialsOver } from '@/lib/work/diary/lawn-due';
import { readTimeline, type TimelineEntry } from '@/lib/work/diary/timeline';
import { readDiaryQuery } from '@/lib/forms/queries/diary-query';
import { demoState } from '@/lib/work/diary/demo-lawn';
import { Rights } from '@/app/_ui/rights';
import { mayDo } from '@/lib/work/people/rights';
import { NoLawn } from './diary/no-lawn';

export default async function DiaryPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  const demo = await demoState();
  if (!lawn) return (await mayDo('keeps', 'diary')) ? <Welcome demo={demo} /> : <NoLawn />;
  const query = readDiaryQuery(await searchParams);
  const filtered = query.show !== 'all' || query.plotId !== undefined || query.before !== undefined;
  const now = new Date();
  const ask = askChangesOnce(lawn.id);
  const [plots, timeline, latest, due, band, away] = await Promise.all([
    listPlots(lawn.id),
    readTimeline(lawn.id, query, undefined, ask),
    filtered ? null : latestAnswer(lawn, now, ask),
    filtered ? [] : dueOnLawn(lawn, now),
    filtered ? null : seasonBand(lawn, ask),
    trialsOver(lawn, now),
  ]);
  const scale = barScale(
    timeline.entries.flatMap((entry) => (entry.kind === 'photo' ? entry.views.map((view) => view.change) : [])),
  );
  const days = new Map<string, TimelineEntry[]>();
  for (const entry of timeline.entries) {
    const key = dayKey(entry.at, lawn.timeZone);
    days.set(key, [...(days.get(key) ?? []), entry]);
  }
  return (
    <>
      <Rights lawnId={lawn.id} quiet />
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
          <Link className="button for-works" href="/photos">
            Add photos
          </Link>
        </div>
      </div>
      <div className="row" style={{ marginBottom: '0.75rem' }}>
        <form action="/find" role="search" className="row find-line">
          <input
            type="search"
            name="q"
            aria-label="Find in the diary"
            placeholder="Find a product, note, viewpoint …"
          />
          <button type="submit" className="button-plain">
            Find
          </button>
        </form>
        <Link className="button" href="/calendar">
          Calendar
        </Link>
      </div>
      {latest && (
        <section className="sheet answer-sheet" aria-label="The answer">
          <AnswerView
            answer={latest.answer}
            before={
              <>
                <Link href={`/sprays/${latest.sprays[0]?.id}`}>
                  {latest.sprays.length === 1 ? 'The last spray' : `The last ${latest.sprays.length} sprays`}
                </Link>
                , {dayText(latest.sprays[0]?.startedAt ?? new Date(0), lawn)}:{' '}
              </>
            }
            after={
              latest.answer.some((part) => part.evidence) && (
                <>
                  {' '}
                  <How to="change" />
                </>
              )
            }
          />
        </section>
      )}
      <DueNow things={due} reader={readerOf(lawn)} />
      {band && (
        <SeasonStrip
          band={band}
          reader={readerOf(lawn)}
          rainText={
            band.rain.length > 0 ? waterText(Math.max(...band.rain.map((day) => day.mm)), lawn.unitSystem) : null
          }
        />
      )}
      <KindRow />
      {(await mayDo('keeps', 'diary')) && <DemoNotice state={demo} lawnId={lawn.id} />}
      {!filtered && <FirstSteps lawn={lawn} empty={days.size === 0} />}
      <BeingWorkedOut lawnId={lawn.id} photos={Math.max(timeline.pending, latest?.pending ?? 0)} />
      <Filters plots={plots} away={away.plotIds} query={query} />
      {days.size === 0 ? (
        <p className="soft">
          {filtered
            ? 'Nothing here under this filter.'
            : 'Nothing written yet. Sprays and photos will stand here on one line of time, the newest first.'}
        </p>
      ) : (
        <ol className="days">
          {[...days.values()].map((entries) => (
            <Day key={entries[0]?.at.toISOString()} entries={entries} reader={lawn} scale={scale} />
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

function Filters({
  plots,
  away,
  query,
}: {
  plots: Plot[];
  /** Plots that only finished trials have. */ away: ReadonlySet<string>;
  query: ReturnType<typeof readDiaryQuery>;
}) {
  const { before: _before, ...rest } = query;
  const kinds = [
    ['all', 'Everything'],
    ['sprays', 'Sprays'],
    ['photos', 'Photos'],
    ['events', 'Other events'],
  ] as const;
  const put = plots.filter((plot) => away.has(plot.id));
  const at = plots.filter((plot) => !away.has(plot.id));
  const chip = (plot: Plot) => {
    const { plotId, ...others } = rest;
    const on = plotId === plot.id;
    return (
      <Link
        key={plot.id}
        className="chip"
        aria-current={on}
        href={`/?${linkQuery(on ? others : { ...others, plotId: plot.id })}`}
      >
        Plot {plot.name}
      </Link>
    );
  };
  return (
    <div className="row" style={{ marginBottom: '1rem' }} role="group" aria-label="Show">
      {kinds.map(([show, label]) => (
        <Link key={show} className="chip" aria-current={query.show === show} href={`/?${linkQuery({ ...rest, show })}`}>
          {label}
        </Link>
      ))}
      {at.map(chip)}
      {put.length > 0 && (
        <details className="chips-away" open={put.some((plot) => plot.id === rest.plotId)}>
          <summary>
            {put.length} {put.length === 1 ? 'plot' : 'plots'} of finished trials
          </summary>
          <div className="row">{put.map(chip)}</div>
        </details>
      )}
    </div>
  );
}
