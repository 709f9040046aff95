import { significant } from '@/lib/units/display';
import { CurveFigure } from '@/app/_ui/charts/curve-figure';
import { TableHold } from '@/app/_ui/table-hold';
import type { Analysis } from '@/lib/trial/analyse';
import type { TrialAnalysis } from '@/lib/trial/over-time';
import type { TrialMeasure } from '@/lib/forms/trial-form';

export const MEASURE_WORDS: Readonly<Record<TrialMeasure, string>> = {
  'change-against-check': 'change against the check',
  change: 'index after less before, light and all',
  'adjusted-for-baseline': 'index, adjusted for before the spray',
  index: 'dark green colour index as photographed',
  rating: 'rating, 1 to 9',
  measured: 'measured on the lawn',
};

const signed = (value: number, digits: number) => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;

/** Number of decimals a measure is shown with. */
const digitsOf = (measure: TrialMeasure): number => (measure === 'rating' ? 2 : 3);

/** How a value of the measure is written. */
export const shownBy = (measure: TrialMeasure) => (value: number) =>
  measure === 'measured'
    ? significant(value, 4)
    : measure === 'index' || measure === 'adjusted-for-baseline' || measure === 'rating'
      ? value.toFixed(digitsOf(measure))
      : signed(value, 3);

const pText = (p: number | null) => (p === null ? '' : p < 0.0001 ? '< 0.0001' : p.toFixed(4));

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

type Tested = Extract<Analysis, { kind: 'tested' }>;

const rangeText = ([low, high]: readonly [number, number]): string =>
  high - low < 1e-3 * high ? high.toPrecision(3) : `${low.toPrecision(3)} to ${high.toPrecision(3)}`;

/** The table behind the verdict, how it came about and how precise the trial was. */
function TestTable({ analysis }: { analysis: Tested }) {
  const { table, precision } = analysis;
  return (
    <TableHold label="Analysis of variance">
      {table.kind === 'mixed model' ? (
        <table>
          <caption>Tests of the mixed model</caption>
          <thead>
            <tr>
              <th>Source</th>
              <th className="number">df</th>
              <th className="number">df below</th>
              <th className="number">F</th>
              <th className="number">p</th>
            </tr>
          </thead>
          <tbody>
            {table.rows.map((row) => (
              <tr key={row.source}>
                <td>{row.source}</td>
                <td className="number">{row.df1}</td>
                <td className="number">{row.df2.toFixed(1)}</td>
                <td className="number">{row.f.toFixed(2)}</td>
                <td className="number">{pText(row.p)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      ) : (
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
            {table.rows.map((row) => (
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
      )}
      <p className="soft">
        {analysis.method} Standard deviation of a plot {analysis.plotSd.toPrecision(3)}, with {analysis.errorDf} degrees
        of freedom
        {precision.cvPercent === null ? '' : ` (coefficient of variation ${precision.cvPercent.toFixed(1)} %)`}.
        Standard error of a difference {rangeText(precision.sed)}; least significant difference{' '}
        {rangeText(precision.lsd)} (one pair, 5 %).
        {precision.blocking.map((one) => (
          <span key={one.by}>
            {' '}
            Against no {one.by}: efficiency {one.efficiency.toFixed(2)}
            {one.efficiency > 1 ? `, so the ${one.by} paid.` : `, so the ${one.by} did not pay.`}
          </span>
        ))}
        {analysis.variances &&
          ` Variances: ${analysis.variances.map((one) => `${one.name} ${one.value.toPrecision(3)}`).join(', ')}.`}
        {analysis.variances?.some((one) => one.value < 0) &&
          ' One below zero says that those plots are more unlike than chance would have them; it is kept so, or the test would not hold its level.'}
      </p>
    </TableHold>
  );
}

/** Two factors: the mean of each combination, and each factor within the other. */
function Combinations({
  cells,
  simple,
  show,
}: {
  cells: NonNullable<Tested['cells']>;
  simple: NonNullable<Tested['simpleEffects']>;
  show: (value: number) => string;
}) {
  return (
    <details>
      <summary>Combinations, and each factor within the other</summary>
      <TableHold label="Means of the combinations">
        <table>
          <caption>Means of the combinations</caption>
          <thead>
            <tr>
              <th>First factor</th>
              <th>Second factor</th>
              <th className="number">Plots</th>
              <th className="number">Mean</th>
              <th className="number">95 % interval</th>
            </tr>
          </thead>
          <tbody>
            {cells.map((cell) => (
              <tr key={`${cell.main} ${cell.sub}`}>
                <td>{cell.main}</td>
                <td>{cell.sub}</td>
                <td className="number">{cell.plots}</td>
                <td className="number">{show(cell.mean)}</td>
                <td className="number">
                  {show(cell.low)} to {show(cell.high)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableHold>
      <TableHold label="Each factor within the other">
        <table>
          <caption>Each factor within the other; p and interval allow for the comparisons of one group</caption>
          <thead>
            <tr>
              <th>Group</th>
              <th>Compared</th>
              <th className="number">Difference</th>
              <th className="number">95 % interval</th>
              <th className="number">p</th>
            </tr>
          </thead>
          <tbody>
            {simple.flatMap((group) =>
              group.pairs.map((pair) => (
                <tr key={`${group.within} ${pair.a} ${pair.b}`}>
                  <td>
                    {group.within} ({group.method})
                  </td>
                  <td>
                    {pair.a} − {pair.b}
                  </td>
                  <td className="number">{show(pair.difference)}</td>
                  <td className="number">
                    {show(pair.low)} to {show(pair.high)}
                  </td>
                  <td className="number">{pText(pair.p)}</td>
                </tr>
              )),
            )}
          </tbody>
        </table>
      </TableHold>
    </details>
  );
}

/** All days in one model, what looking on several days means, and each day against the check. */
export function AllDays({ analysis, measure }: { analysis: TrialAnalysis; measure: TrialMeasure }) {
  const { together } = analysis;
  if (together === null) return null;
  const show = shownBy(measure === 'change-against-check' ? 'change' : measure);
  return (
    <>
      <ul className="sentences">
        {together.sentences.map((sentence) => (
          <li key={sentence}>{sentence}</li>
        ))}
      </ul>
      {together.model !== null && together.model.comparisons.length > 0 && (
        <TableHold label="Each day against the check">
          <table>
            <caption>Against the check, all days and treatments allowed for together</caption>
            <thead>
              <tr>
                <th>Treatment</th>
                <th className="number">Day</th>
                <th className="number">Difference</th>
                <th className="number">95 % interval</th>
                <th className="number">p</th>
              </tr>
            </thead>
            <tbody>
              {together.model.comparisons.map((one) => (
                <tr key={`${one.treatment} ${one.day}`}>
                  <td>{one.treatment}</td>
                  <td className="number">{one.day}</td>
                  <td className="number">{show(one.difference)}</td>
                  <td className="number">
                    {show(one.low)} to {show(one.high)}
                  </td>
                  <td className="number">{pText(one.p)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
    </>
  );
}

/** Response over time: one curve a treatment, with intervals. */
export function ResponseCurves({
  analysis,
  measure,
  sprays,
}: {
  analysis: TrialAnalysis;
  measure: TrialMeasure;
  sprays: readonly { x: number; label: string }[];
}) {
  return (
    <CurveFigure
      series={analysis.curves
        .filter((curve) => curve.points.length > 0)
        .map((curve) => ({
          name: curve.treatment,
          points: curve.points.map((point) => ({ x: point.day, y: point.response, low: point.low, high: point.high })),
        }))}
      xLabel={sprays.length > 0 ? 'days since the first spray' : 'days since the planned first spray'}
      yLabel={
        measure === 'rating'
          ? 'rating'
          : measure === 'measured'
            ? 'value'
            : measure === 'index' || measure === 'adjusted-for-baseline'
              ? 'index'
              : 'change of index'
      }
      label={`Response by day: ${MEASURE_WORDS[measure]}`}
      caption={`${MEASURE_WORDS[measure]}; bars are 95 % intervals (of the mean where there are replicates, of the strip itself where there is one). Dashed uprights: sprays.`}
      moments={sprays}
      zero={measure === 'change' || measure === 'change-against-check'}
    />
  );
}

/** Peak, days to it, days above the check, area, and what a unit of it cost. */
export function CurveTable({
  analysis,
  measure,
  currency,
}: {
  analysis: TrialAnalysis;
  measure: TrialMeasure;
  currency: string | null;
}) {
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
                  {relative && (
                    <td className="number">
                      {curve.costPerUnit === null
                        ? 'no price, or no gain'
                        : `${curve.costPerUnit.toPrecision(3)} ${currency ?? ''}/ha`}
                    </td>
                  )}
                </>
              )}
            </tr>
          ))}
        </tbody>
      </table>
      {relative && (
        <p className="soft">
          Above means by more than 0.005 against the check, the noise of a difference between photos. Area counts parts
          below as negative; straight lines between photos.
        </p>
      )}
    </TableHold>
  );
}
