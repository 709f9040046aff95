import { CurveFigure } from '@/app/_ui/charts/curve-figure';
import { TableHold } from '@/app/_ui/table-hold';
import type { Analysis } from '@/lib/trial/analyse';
import type { TrialMeasure } from '@/lib/forms/trial-form';
import { shownBy, pText } from './analysis-words';
import { TestTable } from './test-table';
import { Combinations } from './combinations';

/**
 * One analysis: its sentences, means with letters, the table behind them, and what was looked at before believing it.
 */
export function AnalysisBlock({
  analysis,
  measure,
  table = true,
  pictures = true,
}: {
  analysis: Analysis;
  measure: TrialMeasure;
  table?: boolean;
  pictures?: boolean;
}) {
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
                  <td className="number">
                    {strip.ownInterval === null
                      ? '–'
                      : `${show(strip.ownInterval[0])} to ${show(strip.ownInterval[1])}`}
                  </td>
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
                <caption>
                  Means of the {factor.factor === 'treatment' ? 'treatments' : factor.factor}: those that share a letter
                  do not differ
                  {measure === 'change-against-check' &&
                    factor.againstCheck === null &&
                    ' (no check among them: change since before the first spray)'}
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
                    const dunnett =
                      factor.againstCheck?.find((one) => one.a === mean.treatment || one.b === mean.treatment) ?? null;
                    const isCheck =
                      factor.againstCheck !== null &&
                      factor.againstCheck.every((one) => one.a === mean.treatment || one.b === mean.treatment) &&
                      factor.means.length > 2;
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
          {table && <TestTable analysis={analysis} />}
          {analysis.cells && analysis.simpleEffects && (
            <Combinations cells={analysis.cells} simple={analysis.simpleEffects} show={show} />
          )}
          {pictures && (
            <details>
              <summary>Can the table be believed?</summary>
              <ul className="sentences">
                {analysis.assumptions.map((note) => (
                  <li key={note.text}>
                    <strong>
                      {note.verdict === 'nothing seen' ? 'Fine' : note.verdict === 'caution' ? 'Caution' : 'Can’t tell'}
                      :
                    </strong>{' '}
                    {note.text}
                  </li>
                ))}
              </ul>
              <div className="split split-even">
                <CurveFigure
                  series={[
                    {
                      name: 'residuals',
                      points: analysis.residuals.map((point) => ({ x: point.fitted, y: point.residual })),
                    },
                  ]}
                  xLabel="fitted value"
                  yLabel="residual"
                  label="Residuals against fitted values"
                  caption="Residuals against fitted values: should look like a band of even width, without a bend or a funnel."
                  zero
                  joined={false}
                />
                <CurveFigure
                  series={[
                    {
                      name: 'residuals',
                      points: analysis.residuals.map((point) => ({ x: point.normalScore, y: point.residual })),
                    },
                  ]}
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
