import { CurveFigure } from '@/app/_ui/curve-figure';
import { TableHold } from '@/app/_ui/table-hold';
import type { Analysis, TrialAnalysis } from '@/lib/trial/analyse';
import type { TrialMeasure } from '@/lib/forms/trial-form';

export const MEASURE_WORDS: Readonly<Record<TrialMeasure, string>> = {
  'change-against-check': 'change against the check',
  change: 'index after less before, light and all',
  index: 'dark green colour index as photographed',
  rating: 'rating, 1 to 9',
};

const signed = (value: number, digits: number) => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;

/** Number of decimals a measure is shown with. */
const digitsOf = (measure: TrialMeasure): number => (measure === 'rating' ? 2 : 3);

/** How a value of the measure is written. */
export const shownBy = (measure: TrialMeasure) => (value: number) => (measure === 'index' || measure === 'rating' ? value.toFixed(digitsOf(measure)) : signed(value, 3));

const pText = (p: number | null) => (p === null ? '' : p < 0.0001 ? '< 0.0001' : p.toFixed(4));

/** One analysis: its sentences, means with letters, the table behind them, and what was looked at before believing it. */
export function AnalysisBlock({ analysis, measure, table = true, pictures = true }: { analysis: Analysis; measure: TrialMeasure; table?: boolean; pictures?: boolean }) {
  const show = shownBy(measure);
  return (
    <>
      <ul className="sentences">
        {analysis.sentences.map((sentence) => (
          <li key={sentence}>{sentence}</li>
        ))}
      </ul>
      {analysis.kind === 'strips-only' && (
        <TableHold label="Strips one by one">
          <table>
            <thead>
              <tr>
                <th>Strip</th>
                <th>Treatment</th>
                <th className="number">Value</th>
                <th className="number">Interval of this strip (95 %)</th>
              </tr>
            </thead>
            <tbody>
              {analysis.strips.map((strip) => (
                <tr key={strip.plot}>
                  <td>{strip.plot}</td>
                  <td>{strip.treatment}</td>
                  <td className="number">{show(strip.value)}</td>
                  <td className="number">{strip.ownInterval === null ? '–' : `${show(strip.ownInterval[0])} to ${show(strip.ownInterval[1])}`}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
      {analysis.kind === 'tested' && (
        <>
          {analysis.factors.map((factor) => (
            <TableHold key={factor.factor} label="Means and letters">
              <table>
                <caption>Means of the {factor.factor === 'treatment' ? 'treatments' : factor.factor}: those that share a letter do not differ
                  {measure === 'change-against-check' && factor.againstCheck === null && ' (no check among them: change since before the first spray)'}
                </caption>
                <thead>
                  <tr>
                    <th>Treatment</th>
                    <th className="number">Plots</th>
                    <th className="number">Mean</th>
                    <th className="number">95 % interval</th>
                    <th>Letters</th>
                    <th className="number">Dunnett p against the check</th>
                  </tr>
                </thead>
                <tbody>
                  {factor.means.map((mean) => {
                    const dunnett = factor.againstCheck?.find((one) => one.a === mean.treatment || one.b === mean.treatment) ?? null;
                    const isCheck = factor.againstCheck !== null && factor.againstCheck.every((one) => one.a === mean.treatment || one.b === mean.treatment) && factor.means.length > 2;
                    return (
                      <tr key={mean.treatment}>
                        <td>{mean.treatment}</td>
                        <td className="number">{mean.plots}</td>
                        <td className="number">{show(mean.mean)}</td>
                        <td className="number">
                          {mean.low === mean.high ? 'reference' : `${show(mean.low)} to ${show(mean.high)}`}
                        </td>
                        <td>{mean.letters}</td>
                        <td className="number">{dunnett && !isCheck ? pText(dunnett.p) : ''}</td>
                      </tr>
                    );
                  })}
                </tbody>
              </table>
            </TableHold>
          ))}
          {table && (
            <TableHold label="Analysis of variance">
              <table>
                <caption>Analysis of variance</caption>
                <thead>
                  <tr>
                    <th>Source</th>
                    <th className="number">df</th>
                    <th className="number">Sum of squares</th>
                    <th className="number">Mean square</th>
                    <th className="number">F</th>
                    <th className="number">p</th>
                  </tr>
                </thead>
                <tbody>
                  {analysis.table.rows.map((row) => (
                    <tr key={row.source}>
                      <td>{row.source}</td>
                      <td className="number">{row.df}</td>
                      <td className="number">{row.ss.toPrecision(4)}</td>
                      <td className="number">{row.ms === null ? '' : row.ms.toPrecision(4)}</td>
                      <td className="number">{row.f === null ? '' : row.f.toFixed(2)}</td>
                      <td className="number">{pText(row.p)}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
              <p className="soft">
                Standard deviation of a plot {analysis.plotSd.toPrecision(3)}, with {analysis.errorDf} degrees of freedom.
              </p>
            </TableHold>
          )}
          {pictures && (
            <details>
              <summary>Can the table be believed?</summary>
              <ul className="sentences">
                {analysis.assumptions.map((note) => (
                  <li key={note.text}>
                    <strong>{note.verdict === 'nothing seen' ? 'Fine' : note.verdict === 'caution' ? 'Caution' : 'Can’t tell'}:</strong> {note.text}
                  </li>
                ))}
              </ul>
              <div className="split split-even">
                <CurveFigure
                  series={[{ name: 'residuals', points: analysis.residuals.map((point) => ({ x: point.fitted, y: point.residual })) }]}
                  xLabel="fitted value"
                  yLabel="residual"
                  label="Residuals against fitted values"
                  caption="Residuals against fitted values: should look like a band of even width, without a bend or a funnel."
                  zero
                  joined={false}
                />
                <CurveFigure
                  series={[{ name: 'residuals', points: analysis.residuals.map((point) => ({ x: point.normalScore, y: point.residual })) }]}
                  xLabel="normal score"
                  yLabel="residual"
                  label="Residuals against normal scores"
                  caption="Residuals against normal scores: should lie near a straight line."
                  joined={false}
                />
              </div>
            </details>
          )}
        </>
      )}
    </>
  );
}

/** Response over time: one curve a treatment, with intervals. */
export function ResponseCurves({ analysis, measure, sprays }: { analysis: TrialAnalysis; measure: TrialMeasure; sprays: readonly { x: number; label: string }[] }) {
  return (
    <CurveFigure
      series={analysis.curves.filter((curve) => curve.points.length > 0).map((curve) => ({ name: curve.treatment, points: curve.points.map((point) => ({ x: point.day, y: point.response, low: point.low, high: point.high })) }))}
      xLabel={sprays.length > 0 ? 'days since the first spray' : 'days since the planned first spray'}
      yLabel={measure === 'rating' ? 'rating' : measure === 'index' ? 'index' : 'change of index'}
      label={`Response by day: ${MEASURE_WORDS[measure]}`}
      caption={`${MEASURE_WORDS[measure]}; bars are 95 % intervals (of the mean where there are replicates, of the strip itself where there is one). Dashed uprights: sprays.`}
      moments={sprays}
      zero={measure !== 'index' && measure !== 'rating'}
    />
  );
}

/** Peak, days to it, days above the check, area, and what a unit of it cost. */
export function CurveTable({ analysis, measure, currency }: { analysis: TrialAnalysis; measure: TrialMeasure; currency: string | null }) {
  const relative = measure === 'change-against-check' || measure === 'change';
  return (
    <TableHold label="Response over time">
      <table>
        <thead>
          <tr>
            <th>Treatment</th>
            <th className="number">Peak</th>
            <th className="number">On day</th>
            {relative && <th className="number">Days above {measure === 'change' ? 'the start' : 'the check'}</th>}
            <th className="number">Area (× days)</th>
            <th className="number">Mean</th>
            {relative && <th className="number">Cost per index × day</th>}
          </tr>
        </thead>
        <tbody>
          {analysis.curves.map((curve) => (
            <tr key={curve.treatment}>
              <td>{curve.treatment}</td>
              {curve.summary === null ? (
                <td colSpan={relative ? 6 : 4}>too few days</td>
              ) : (
                <>
                  <td className="number">{shownBy(measure)(curve.summary.peak)}</td>
                  <td className="number">{curve.summary.daysToPeak}</td>
                  {relative && (
                    <td className="number">
                      {curve.summary.stillAboveAtEnd ? '≥ ' : ''}
                      {curve.summary.daysAbove.toFixed(1)} of {curve.summary.lastDay - curve.summary.firstDay}
                    </td>
                  )}
                  <td className="number">{curve.summary.area.toFixed(2)}</td>
                  <td className="number">{shownBy(measure)(curve.summary.meanResponse)}</td>
                  {relative && <td className="number">{curve.costPerUnit === null ? 'no price, or no gain' : `${curve.costPerUnit.toPrecision(3)} ${currency ?? ''}/ha`}</td>}
                </>
              )}
            </tr>
          ))}
        </tbody>
      </table>
      {relative && <p className="soft">Above means by more than 0.005 against the check, the noise of a difference between photos. Area counts parts below as negative; straight lines between photos.</p>}
    </TableHold>
  );
}
