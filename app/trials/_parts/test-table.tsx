import { TableHold } from '@/app/_ui/table-hold';
import type { Analysis } from '@/lib/trial/analyse';
import { pText } from './analysis-words';

export type Tested = Extract<Analysis, { kind: 'tested' }>;

const rangeText = ([low, high]: readonly [number, number]): string =>
  high - low < 1e-3 * high ? high.toPrecision(3) : `${low.toPrecision(3)} to ${high.toPrecision(3)}`;

/** The table behind the verdict, how it came about and how precise the trial was. */
export function TestTable({ analysis }: { analysis: Tested }) {
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
