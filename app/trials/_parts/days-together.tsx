import { TableHold } from '@/app/_ui/table-hold';
import type { TrialAnalysis } from '@/lib/trial/over-time';
import type { TrialMeasure } from '@/lib/forms/trial-form';
import { shownBy, pText } from './analysis-words';

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
