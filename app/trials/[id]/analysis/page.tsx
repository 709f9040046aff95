import { How } from '@/app/_ui/how';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import '../../_parts/trials.css';
import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { isDoubt } from '@/lib/photo/cautions';
import { MARKED, MEASURES, readAnalysisQuery } from '@/lib/forms/trial-form';
import { columnKey, columnsOf } from '@/lib/trial/measurement';
import { unitLabel } from '@/lib/units/display';
import { analyseRecord } from '@/lib/work/trials/trial-analysis';
import { daysOfSprays } from '@/lib/work/trials/trial-days';
import { marksByDay } from '@/lib/work/trials/test-a-cause';
import { labelOf, readTrial } from '@/lib/work/trials/trial-record';
import { AllDays } from '../../_parts/days-together';
import { AnalysisBlock } from '../../_parts/analysis-block';
import { CurveTable, ResponseCurves } from '../../_parts/response-curves';
import { MEASURE_WORDS } from '../../_parts/analysis-words';
import { MarksOnStrips } from '../../_parts/marks-on-strips';
import { StripsByDay } from '../../_parts/strips-by-day';
import { LeaveOutForm } from './leave-out-form';
import { leaveOut, takeBackIn, takePlotBackIn } from '../../actions';
import { dateText } from '@/lib/units/dates';
import { askPage, Rights } from '@/app/_ui/rights';

const MARKED_WORDS: Readonly<Record<(typeof MARKED)[number], string>> = {
  'left-out': 'without marked patches',
  counted: 'marked patches counted',
  without: 'without strips that carry marks',
};

export const metadata: Metadata = { title: 'Analysis' };

export default async function AnalysisPage({
  params,
  searchParams,
}: {
  params: Promise<{ id: string }>;
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  await askPage('looks', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) notFound();
  const choices = readAnalysisQuery(await searchParams);
  const { trial } = record;
  const base = `/trials/${trial.id}`;
  const findings = analyseRecord(record, choices);
  const { analysis } = findings;
  const columns = columnsOf(record.measurements, record.lawn.unitSystem);
  const tested = analysis.byDay.some((day) => day.analysis.kind === 'tested');
  const link = (part: Partial<typeof choices>) => {
    const { margin, column, ...rest } = { ...choices, ...part };
    return `${base}/analysis?${new URLSearchParams({ ...rest, ...(column === null ? {} : { column }), ...(margin === null ? {} : { margin: String(margin) }) }).toString()}`;
  };
  const photos = [...new Map(record.readings.map((reading) => [reading.photoId, reading])).values()];
  const doubtful = photos.filter((photo) => photo.cautions.some((caution) => isDoubt(caution.code)));
  return (
    <>
      <Rights lawnId={record.lawn.id} forms="keeps" />
      <div className="row row-end">
        <h1>{trial.name}: analysis</h1>
        <div className="row">
          <Link className="button" href={`${base}/report`}>
            Report
          </Link>
          <Link className="button" href={base}>
            Back to the trial
          </Link>
        </div>
      </div>
      <BeingWorkedOut lawnId={record.lawn.id} photos={record.pending} />
      <nav className="row" aria-label="What is analysed">
        {MEASURES.filter((measure) => measure !== 'measured').map((measure) => (
          <Link key={measure} className="chip" aria-current={measure === choices.measure} href={link({ measure })}>
            {MEASURE_WORDS[measure]}
          </Link>
        ))}
        {columns.map((column) => (
          <Link
            key={columnKey(column)}
            className="chip"
            aria-current={choices.measure === 'measured' && choices.column === columnKey(column)}
            href={link({ measure: 'measured', column: columnKey(column) })}
          >
            {column.name}
            {column.unit && `, ${unitLabel(column.unit)}`}
          </Link>
        ))}
      </nav>
      <nav className="row" aria-label="How it is compared" style={{ margin: '0.5rem 0 1rem' }}>
        <Link className="chip" aria-current={choices.comparison === 'tukey'} href={link({ comparison: 'tukey' })}>
          Tukey HSD
        </Link>
        <Link className="chip" aria-current={choices.comparison === 'lsd'} href={link({ comparison: 'lsd' })}>
          protected LSD
        </Link>
        {MARKED.map((marked) => (
          <Link key={marked} className="chip" aria-current={choices.marked === marked} href={link({ marked })}>
            {MARKED_WORDS[marked]}
          </Link>
        ))}
        <span className="soft">
          {record.marks.length} {record.marks.length === 1 ? 'mark' : 'marks'}
        </span>
      </nav>
      <form className="fields" action={`${base}/analysis`} style={{ marginBottom: '1rem' }}>
        <input type="hidden" name="measure" value={choices.measure} />
        {choices.column !== null && <input type="hidden" name="column" value={choices.column} />}
        <input type="hidden" name="comparison" value={choices.comparison} />
        <input type="hidden" name="marked" value={choices.marked} />
        <div className="field">
          <label htmlFor="margin">
            Alike within,{' '}
            {choices.measure === 'rating'
              ? 'points'
              : choices.measure === 'measured'
                ? 'the column’s unit'
                : 'index units'}
          </label>
          <div className="amount">
            <input
              id="margin"
              name="margin"
              inputMode="decimal"
              defaultValue={choices.margin ?? ''}
              placeholder="0.01"
            />
            <button type="submit">Ask</button>
          </div>
          <span className="hint">
            “No difference” is shown only when the interval lies within such a margin. Empty: not asked.
          </span>
        </div>
      </form>
      {choices.measure === 'index' && (
        <p className="notice">
          The index itself moves with the light. Compare it within a photo only; between days the change against the
          check is the number that counts.
        </p>
      )}
      <section className="sheet">
        <h2>Over time</h2>
        <p className="soft">
          Tests, letters and intervals: <How to="trials" /> Peak, days and area: <How to="curve" />
        </p>
        <ResponseCurves analysis={analysis} measure={choices.measure} sprays={daysOfSprays(record)} />
        <CurveTable analysis={analysis} measure={choices.measure} currency={findings.currency} />
        {tested && (
          <>
            <h3>All days together</h3>
            <AllDays analysis={analysis} measure={choices.measure} />
            <h3>Area under the curve, one value a strip</h3>
            <AnalysisBlock analysis={analysis.area} measure={choices.measure} />
            <h3>Peak, one value a strip</h3>
            <AnalysisBlock
              analysis={analysis.peak}
              measure={choices.measure === 'change-against-check' ? 'change' : choices.measure}
            />
          </>
        )}
      </section>
      {tested ? (
        analysis.byDay.map(({ day, analysis: ofDay }) => (
          <section key={day} className="sheet">
            <h2>Day {day}</h2>
            <AnalysisBlock analysis={ofDay} measure={choices.measure} />
          </section>
        ))
      ) : (
        <section className="sheet">
          <h2>By day</h2>
          <StripsByDay analysis={analysis} measure={choices.measure} />
        </section>
      )}
      {(record.marks.length > 0 || trial.causeTest !== null) && (
        <section className="sheet">
          <h2>Marks on the strips</h2>
          <MarksOnStrips days={marksByDay(record)} />
        </section>
      )}
      <section className="sheet">
        <h2>Left out, and why</h2>
        <ul className="due-list">
          {record.omissions.map((omission) => (
            <li key={omission.id} className="row row-end">
              <span>
                {photos.find((photo) => photo.photoId === omission.photoId)?.on ?? 'a photo'},{' '}
                {omission.plotId ? `strip ${labelOf(trial, omission.plotId)}` : 'the whole photo'}: {omission.reason}
              </span>
              <form action={takeBackIn.bind(null, trial.id)}>
                <input type="hidden" name="id" value={omission.id} />
                <button type="submit" className="button">
                  Take back in
                </button>
              </form>
            </li>
          ))}
          {trial.plots
            .filter((plot) => plot.excludedReason !== null)
            .map((plot) => (
              <li key={plot.plotId} className="row row-end">
                <span>
                  Strip {labelOf(trial, plot.plotId)} throughout: {plot.excludedReason}
                </span>
                <form action={takePlotBackIn.bind(null, trial.id)}>
                  <input type="hidden" name="plotId" value={plot.plotId} />
                  <button type="submit" className="button">
                    Take back in
                  </button>
                </form>
              </li>
            ))}
        </ul>
        {doubtful.length > 0 && (
          <p className="soft">
            Photos with cautions: {doubtful.map((photo) => dateText(photo.on, record.lawn)).join(', ')}.
          </p>
        )}
        <LeaveOutForm
          action={leaveOut.bind(null, trial.id)}
          photos={photos.map((photo) => ({ id: photo.photoId, on: dateText(photo.on, record.lawn) }))}
          strips={trial.plots.map((plot) => ({ id: plot.plotId, label: labelOf(trial, plot.plotId) }))}
        />
      </section>
    </>
  );
}
