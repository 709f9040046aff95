import { TableHold } from '@/app/_ui/table-hold';
import type { Tested } from './test-table';
import { pText } from './analysis-words';

/** Two factors: the mean of each combination, and each factor within the other. */
export function Combinations({
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
