import { TableHold } from '@/app/_ui/table-hold';
import type { TrialMeasure } from '@/lib/forms/trial-form';
import { UNREPLICATED_SENTENCE } from '@/lib/trial/analyse';
import { type TrialAnalysis } from '@/lib/trial/over-time';
import { shownBy } from './analysis-words';

/** Unreplicated strips: all days in one table, and once what they can and cannot say. */
export function StripsByDay({ analysis, measure }: { analysis: TrialAnalysis; measure: TrialMeasure }) {
  const show = shownBy(measure);
  const days = analysis.byDay.filter((one) => one.analysis.kind === 'strips-only');
  const strips = [
    ...new Map(
      days
        .flatMap(({ analysis: one }) => (one.kind === 'strips-only' ? one.strips : []))
        .map((strip) => [strip.plot, strip.treatment]),
    ).entries(),
  ].sort(([a], [b]) => a.localeCompare(b));
  const others = analysis.byDay.filter((one) => one.analysis.kind === 'none');
  const leftOut = [
    ...new Set(
      days.flatMap(({ day, analysis: one }) =>
        one.leftOut.map((out) => `Day ${day}: strip ${out.plot} does not count (${out.reason}).`),
      ),
    ),
  ];
  return (
    <>
      {days.length > 0 && <p className="notice">{UNREPLICATED_SENTENCE}</p>}
      {days.length > 0 && (
        <TableHold label="Strips by day">
          <table>
            <thead>
              <tr>
                <th className="number">Day</th>
                {strips.map(([plot, treatment]) => (
                  <th key={plot} className="number">
                    {plot} {treatment}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {days.map(({ day, analysis: one }) => (
                <tr key={day}>
                  <td className="number">{day}</td>
                  {strips.map(([plot]) => {
                    const strip =
                      one.kind === 'strips-only' ? one.strips.find((other) => other.plot === plot) : undefined;
                    return (
                      <td key={plot} className="number">
                        {strip ? show(strip.value) : 'left out'}
                        {strip?.ownInterval && (
                          <div className="soft">
                            {show(strip.ownInterval[0])} to {show(strip.ownInterval[1])}
                          </div>
                        )}
                      </td>
                    );
                  })}
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
      {leftOut.map((sentence) => (
        <p key={sentence} className="soft">
          {sentence}
        </p>
      ))}
      {others.flatMap(({ day, analysis: one }) =>
        one.sentences.map((sentence) => (
          <p key={`${day} ${sentence}`}>
            Day {day}: {sentence}
          </p>
        )),
      )}
    </>
  );
}
