import { TableHold } from '@/app/_ui/table-hold';
import type { MarkTest, MarksAnalysis } from '@/lib/trial/marks-on-plots';

const pText = (p: number | undefined) => (p === undefined ? '–' : p < 0.0001 ? '< 0.0001' : p.toFixed(4));

/** Marks as a measure: on how many strips of each treatment, how large, and the exact tests. */
export function MarksOnStrips({ days }: { days: readonly { day: number; analysis: MarksAnalysis }[] }) {
  const telling = days.filter(({ analysis }) => analysis.treatments.counts.some((one) => one.marked > 0));
  if (telling.length === 0) return <p>No strip carries a mark on any day.</p>;
  return (
    <>
      {telling.map(({ day, analysis }) => (
        <div key={day}>
          <h3>Day {day}</h3>
          <ul className="sentences">
            {analysis.sentences.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
          <TableHold label={`Marks on day ${day}`}>
            <table>
              <caption>Marks on day {day}; p by every order that the draw could have laid</caption>
              <thead>
                <tr>
                  <th>Compared</th>
                  <th>Group</th>
                  <th className="number">Strips</th>
                  <th className="number">Marked</th>
                  <th className="number">Area, mean</th>
                  <th className="number">p, presence</th>
                  <th className="number">p, area</th>
                </tr>
              </thead>
              <tbody>{[...analysis.factors, analysis.treatments].flatMap((test) => rowsOf(test))}</tbody>
            </table>
          </TableHold>
        </div>
      ))}
      <p className="soft">
        Several days and questions are looked at: at the 5 % level one in twenty speaks by chance alone.
      </p>
    </>
  );
}

function rowsOf(test: MarkTest) {
  return test.counts.map((one, i) => (
    <tr key={`${test.about} ${one.name}`}>
      <td>{i === 0 ? test.about : ''}</td>
      <td>{one.name}</td>
      <td className="number">{one.plots}</td>
      <td className="number">{one.marked}</td>
      <td className="number">{(one.meanAreaShare * 100).toFixed(1)} %</td>
      <td className="number">{i === 0 ? pText(test.presence?.p) : ''}</td>
      <td className="number">{i === 0 ? pText(test.area?.p) : ''}</td>
    </tr>
  ));
}
