import { TableHold } from '@/app/_ui/table-hold';
import Link from 'next/link';
import { labelOf, treatmentOf, type TrialRecord } from '@/lib/work/trials/trial-record';
import { dateText } from '@/lib/units/dates';

/** Index of each strip in each photo; what is missing says so, what is left out is struck through. */
export function ReadingMatrix({ record }: { record: TrialRecord }) {
  const { trial, readings, omissions } = record;
  const photos = [...new Map(readings.map((reading) => [reading.photoId, reading])).values()];
  if (photos.length === 0) {
    return (
      <p>
        No readings yet. <Link href="/photos">Add photos</Link> and outline the strips of this trial in them: each
        strip’s reading appears here.
      </p>
    );
  }
  const isOut = (photoId: string, plotId: string) =>
    omissions.some((one) => one.photoId === photoId && (one.plotId === null || one.plotId === plotId));
  return (
    <TableHold label="Readings by photo and strip">
      <table>
        <thead>
          <tr>
            <th>Photo</th>
            <th className="number">Day</th>
            {trial.plots.map((plot) => (
              <th key={plot.plotId} className="number" title={treatmentOf(trial, plot)}>
                {labelOf(trial, plot.plotId)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {photos.map((photo) => (
            <tr key={photo.photoId}>
              <td>
                <Link href={`/photos/${photo.photoId}`}>{dateText(photo.on, record.lawn)}</Link>
              </td>
              <td className="number">{photo.isBefore ? 'before' : photo.day}</td>
              {trial.plots.map((plot) => {
                const reading = readings.find((one) => one.photoId === photo.photoId && one.plotId === plot.plotId);
                return (
                  <td
                    key={plot.plotId}
                    className={`number ${reading && isOut(photo.photoId, plot.plotId) ? 'cell-out' : ''}`}
                  >
                    {reading?.dgci == null ? <span className="cell-missing">missing</span> : reading.dgci.toFixed(3)}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </TableHold>
  );
}
