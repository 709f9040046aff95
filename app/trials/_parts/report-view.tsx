import { TableHold } from '@/app/_ui/table-hold';
import './trials.css';
import type { CSSProperties } from 'react';
import { AnswerView } from '@/app/_ui/answer';
import { CAUTIONS } from '@/lib/spray/cautions';
import {
  showLiquidRate,
  showSpeed,
  showTemperature,
  showTyped,
  showWaterDepth,
  unitLabel,
  type UnitSystem,
} from '@/lib/units/display';
import { columnKey } from '@/lib/trial/measurement';
import type { TrialMeasure } from '@/lib/forms/trial-form';
import { answerOfTrial } from '@/lib/work/diary/answers';
import { daysOfSprays } from '@/lib/work/trials/trial-days';
import { labelOf } from '@/lib/work/trials/trial-record';
import type { FilmFrame, TrialReport } from '@/lib/work/trials/report-trial';
import { AgreementTables } from '../[id]/rate/agreement-tables';
import { AllDays } from './days-together';
import { AnalysisBlock } from './analysis-block';
import { CurveTable, ResponseCurves } from './response-curves';
import { DESIGN_WORDS } from './design-words';
import { MarksOnStrips } from './marks-on-strips';
import { StripsByDay } from './strips-by-day';
import { TrialMapView } from './trial-map-view';
import { dateText, shortDateText, type Reader } from '@/lib/units/dates';

/**
 * A trial's report, on screen and on paper. `stripAddress` says where a strip's picture is served: the owner's and a
 * shared reader's differ.
 */
export function ReportView({
  report,
  system,
  stripAddress,
  linked,
}: {
  report: TrialReport;
  system: UnitSystem;
  stripAddress: (frame: FilmFrame) => string;
  /** Whether the reader may follow links into the diary. */ linked: boolean;
}) {
  const { record, film } = report;
  const { trial } = record;
  const photoDay = (photoId: string) => {
    const on = record.readings.find((reading) => reading.photoId === photoId)?.on;
    return on === undefined ? '?' : dateText(on, record.lawn);
  };
  const tested = report.change.analysis.byDay.some(({ analysis }) => analysis.kind === 'tested');
  return (
    <article className="report">
      <h1>{trial.name}</h1>
      {trial.question && <p>{trial.question}</p>}
      <p className="soft">
        {DESIGN_WORDS[trial.design]}, {trial.blocks} {trial.blocks === 1 ? 'replicate' : 'replicates'},{' '}
        {trial.plots.length} strips, order by seed {trial.seed}. First sprayed{' '}
        {record.firstSprayAt ? dateText(record.firstSprayOn, record.lawn) : 'not yet'}; {film.dates.length} photo days,{' '}
        {film.dates.length === 0
          ? '–'
          : `${dateText(film.dates[0]!, record.lawn)} to ${dateText(film.dates.at(-1)!, record.lawn)}`}
        .
      </p>
      {record.pending > 0 && !linked && (
        <p className="notice">
          {record.pending === 1 ? 'One photo of this trial is' : `${record.pending} photos of this trial are`} being
          worked out and not in these numbers yet.
        </p>
      )}
      <section className="sheet">
        <h2>The answer in short</h2>
        <AnswerView answer={answerOfTrial(report)} linked={linked} />
        <ul className="sentences">
          {report.change.analysis.area.sentences.map((sentence) => (
            <li key={sentence}>{sentence}</li>
          ))}
        </ul>
        {tested && <AllDays analysis={report.change.analysis} measure="change-against-check" />}
        <p className="soft">From the area under each strip’s curve of colour change, one value a strip.</p>
        <CurveTable
          analysis={report.change.analysis}
          measure="change-against-check"
          currency={report.change.currency}
        />
      </section>
      <section className="sheet">
        <h2>Response over time</h2>
        <ResponseCurves
          analysis={report.change.analysis}
          measure="change-against-check"
          sprays={daysOfSprays(record)}
        />
      </section>
      <section className="sheet new-page">
        <h2>Layout</h2>
        <TrialMapView id="report" trial={trial} system={system} />
      </section>
      <section className="sheet">
        <h2>What was sprayed</h2>
        {report.sprays.length === 0 ? (
          <p>Nothing yet.</p>
        ) : (
          <TableHold label="What was sprayed">
            <table>
              <thead>
                <tr>
                  <th>When</th>
                  <th className="number">Day</th>
                  <th>Strips</th>
                  <th>Products and rates</th>
                  <th className="number">Carrier</th>
                  <th>Weather then</th>
                </tr>
              </thead>
              <tbody>
                {report.sprays.map((spray) => (
                  <tr key={spray.id}>
                    <td className="when">{spray.when}</td>
                    <td className="number">{spray.day}</td>
                    <td>{spray.strips.join(', ')}</td>
                    <td>
                      {spray.items
                        .map(
                          (item) =>
                            `${item.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, system).text}`,
                        )
                        .join('; ')}
                    </td>
                    <td className="number">
                      {spray.carrierLPerHa === null ? '–' : showLiquidRate(spray.carrierLPerHa, system).text}
                    </td>
                    <td>
                      {[
                        spray.airTempC !== null && showTemperature(spray.airTempC, system).text,
                        spray.relHumidityPercent !== null && `${Math.round(spray.relHumidityPercent)} % humidity`,
                        spray.windMPerS !== null && `wind ${showSpeed(spray.windMPerS, system).text}`,
                      ]
                        .filter(Boolean)
                        .join(', ') || 'not recorded'}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableHold>
        )}
        <p className="soft">
          {report.weather === null
            ? 'No weather hours for the days of the trial.'
            : [
                `Weather from first to last photo (${report.weather.hours} hours${report.weather.gapsHours > 0 ? `, ${report.weather.gapsHours} missing` : ''}): `,
                report.weather.lowestC !== null && report.weather.highestC !== null
                  ? `${showTemperature(report.weather.lowestC, system).text} to ${showTemperature(report.weather.highestC, system).text}, `
                  : '',
                report.weather.rainMm === null
                  ? 'rain not measured.'
                  : `rain ${showWaterDepth(report.weather.rainMm, system).text}.`,
              ].join('')}
        </p>
      </section>
      <section className="sheet new-page">
        <h2>Film strip</h2>
        <p className="soft">
          Each strip from straight above, near end at the bottom, as photographed: light differs from day to day, so
          compare strips within a date.
        </p>
        <FilmStrip film={film} reader={record.lawn} stripAddress={stripAddress} />
      </section>
      <section className="sheet new-page">
        <h2>Change against the check, by day</h2>
        <ByDay analysis={report.change.analysis} measure="change-against-check" />
      </section>
      {report.ratings && (
        <section className="sheet">
          <h2>Blind ratings</h2>
          <ByDay analysis={report.ratings.analysis} measure="rating" />
          {report.agreement && <AgreementTables agreement={report.agreement} />}
        </section>
      )}
      {report.measured.map(({ column, findings }) => (
        <section key={columnKey(column)} className="sheet">
          <h2>
            {column.name}
            {column.unit && `, ${unitLabel(column.unit)}`}
          </h2>
          <ByDay analysis={findings.analysis} measure="measured" />
        </section>
      ))}
      {(record.marks.length > 0 || trial.causeTest !== null) && (
        <section className="sheet">
          <h2>Marks on the strips</h2>
          <MarksOnStrips days={report.marks} />
        </section>
      )}
      <section className="sheet">
        <h2>What to doubt</h2>
        <ul>
          {record.omissions.map((omission) => (
            <li key={omission.id}>
              Left out: {omission.plotId ? `strip ${labelOf(trial, omission.plotId)}` : 'all strips'} in the photo of{' '}
              {photoDay(omission.photoId)}, since {omission.reason}
            </li>
          ))}
          {report.photoCautions.map((photo) => (
            <li key={photo.on}>
              {dateText(photo.on, record.lawn)}: {photo.sentences.join(' ')}
            </li>
          ))}
          {record.marks.length > 0 && (
            <li>
              Marks were flagged on {[...new Set(record.marks.map((mark) => labelOf(trial, mark.plotId)))].join(', ')}:
              their patches are left out of the ground compared.
            </li>
          )}
          <li>
            An index from one phone or day must not be set beside one from another: only the change against the check in
            the same photo is compared here.
          </li>
        </ul>
      </section>
      <section className="sheet">
        <h2>How the numbers were made</h2>
        <ul>
          {report.methods.map((method) => (
            <li key={method.version}>
              Readings by method {method.version}, colour correction: {method.corrections.join(', ')}.
            </li>
          ))}
          <li>
            Dark green colour index: mean of hue, saturation and brightness terms of turf pixels (Karcher &amp;
            Richardson 2003).
          </li>
          <li>
            Analysis: linear model of the design by least squares, or a mixed model by restricted maximum likelihood
            with Kenward-Roger degrees of freedom where plots of two sizes, incomplete blocks or repeated days ask for
            one; adjusted means, Tukey’s HSD with letters, Dunnett against the check (p and interval), ratings by exact
            ranks, 5 % level; curves by trapezoids; one value a strip, never pixels, as replicate.
          </li>
        </ul>
      </section>
      <section className="sheet">
        <h2>Cautions</h2>
        <ul>
          {CAUTIONS.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      </section>
    </article>
  );
}

/** Each day's tests, or the strips themselves where nothing can be tested. */
function ByDay({ analysis, measure }: { analysis: TrialReport['change']['analysis']; measure: TrialMeasure }) {
  if (!analysis.byDay.some((one) => one.analysis.kind === 'tested'))
    return <StripsByDay analysis={analysis} measure={measure} />;
  return analysis.byDay.map((one) => (
    <div key={one.day}>
      <h3>Day {one.day}</h3>
      <AnalysisBlock analysis={one.analysis} measure={measure} pictures={false} />
    </div>
  ));
}

function FilmStrip({
  film,
  reader,
  stripAddress,
}: {
  film: TrialReport['film'];
  reader: Pick<Reader, 'unitSystem'>;
  stripAddress: (frame: FilmFrame) => string;
}) {
  return (
    <TableHold label="Film strip by date">
      <table
        className="film-table"
        style={
          { '--frames': Math.max(4, film.dates.length), '--strips': Math.max(7, film.rows.length) } as CSSProperties
        }
      >
        <thead>
          <tr>
            <th>Strip</th>
            {film.dates.map((date) => (
              <th key={date}>{shortDateText(date, reader)}</th>
            ))}
          </tr>
        </thead>
        <tbody>
          {film.rows.map((row) => (
            <tr key={row.label}>
              <th>
                {row.label}
                <br />
                {row.treatment}
              </th>
              {row.frames.map((frame, index) => (
                <td key={film.dates[index]}>
                  {frame ? (
                    <img
                      src={stripAddress(frame)}
                      alt={`Strip ${row.label} on ${shortDateText(film.dates[index]!, reader)}`}
                      height={144}
                    />
                  ) : (
                    <span className="film-missing">missing</span>
                  )}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </TableHold>
  );
}
