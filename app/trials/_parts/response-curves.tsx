import { CurveFigure } from '@/app/_ui/charts/curve-figure';
import { TableHold } from '@/app/_ui/table-hold';
import type { TrialAnalysis } from '@/lib/trial/over-time';
import type { TrialMeasure } from '@/lib/forms/trial-form';
import { MEASURE_WORDS, shownBy } from './analysis-words';

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
