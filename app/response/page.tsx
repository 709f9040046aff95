import type { Metadata } from 'next';
import Link from 'next/link';
import { How } from '@/app/_ui/how';
import { TimeChart, type Series } from '@/app/_ui/charts/chart';
import { currentLawn } from '@/app/_ui/current-lawn';
import { dayText, readerOf } from '@/lib/units/dates';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { checkName, groundText, intervalText, signed } from '@/app/_ui/change-text';
import { TableHold } from '@/app/_ui/table-hold';
import { readSeasonQuery } from '@/lib/forms/queries/season-query';
import { responseOverTime, type PlotResponse, type ResponsePoint } from '@/lib/work/response/response-over-time';
import { MOST_PHOTOS, responseSpan } from '@/lib/work/response/response-span';

export const metadata: Metadata = { title: 'Response' };

const toPoints = (points: ResponsePoint[]) =>
  points.map((point) => ({
    x: point.at.getTime(),
    y: point.value,
    low: point.low95,
    high: point.high95,
    photoId: point.photoId,
    doubt: point.doubt,
  }));
/** A plot's line: by its name, and by the viewpoint where there are several. */
const lineName = (plot: PlotResponse) =>
  `${plot.isCheck ? checkName(plot.plotName) : plot.plotName}${plot.viewpointName === null ? '' : ` · ${plot.viewpointName}`}`;

export default async function ResponsePage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  const asked = readSeasonQuery(await searchParams);
  const span = lawn ? await responseSpan(lawn.id, asked, new Date()) : null;
  const response = lawn && span ? await responseOverTime(lawn.id, span.from, span.to) : null;
  if (!lawn || !span || !response || response.plots.length === 0) {
    return (
      <div className="teach">
        <h1>Response</h1>
        {lawn && response && <BeingWorkedOut lawnId={lawn.id} photos={response.pending} />}
        <p>
          This page charts how the colour of each plot changed after a spray. It needs photos with outlined plots:{' '}
          <Link href="/photos">add photos</Link>, outline the plots and the check, and come back.
        </p>
      </div>
    );
  }
  const changes: Series[] = response.plots
    .filter((plot) => plot.change.length > 0)
    .map((plot) => ({ name: lineName(plot), points: toPoints(plot.change) }));
  const indexes: Series[] = response.plots.map((plot) => ({ name: lineName(plot), points: toPoints(plot.index) }));
  const several = response.plots.some((plot) => plot.viewpointName !== null);
  // Sprays of one day share a line and its label.
  const byDay = new Map<string, { x: number; plots: Set<string> }>();
  for (const spray of response.sprays) {
    const day = dayText(spray.at, lawn);
    const entry = byDay.get(day) ?? { x: spray.at.getTime(), plots: new Set() };
    for (const plot of spray.plots) entry.plots.add(plot.split(/[\s·,;:]+/)[0] ?? plot);
    byDay.set(day, entry);
  }
  const sprays = [...byDay.values()].map(({ x, plots }) => ({ x, label: `spray ${[...plots].toSorted().join(', ')}` }));
  return (
    <>
      <div className="row row-end">
        <h1>Response</h1>
        <Link className="button" href="/response/against">
          Against rates and weather
        </Link>
      </div>
      <BeingWorkedOut lawnId={lawn.id} photos={response.pending} />
      <section className="sheet">
        <h2>Change against the check</h2>
        <p className="soft">
          {response.sprayed
            ? 'Each plot’s dark green index after less before, less the same of the check in the same two photos; before is the last photo from this viewpoint before the first spray. Above zero: darker green than without the spray.'
            : 'No spray is written down yet: each plot’s dark green index less that in the viewpoint’s first photo, less the same of the check.'}{' '}
          Marked patches are left out, so that haze or scorch doesn’t count as colour; the table gives both. Bars are 95
          % intervals; a hollow point is doubtful, its reason shows when you point at it. Upright lines are sprays with
          the plots they covered. <How to="change" />
        </p>
        {changes.length > 0 ? (
          <TimeChart
            series={changes}
            sprays={sprays}
            yLabel="Change in index against check"
            reader={readerOf(lawn)}
            zeroLine
            label="Change of each plot against the check by date"
          />
        ) : (
          <p className="notice">
            No plot can be compared yet: outline the check and a sprayed plot in a photo before the spray and in one
            after it, from the same viewpoint.
          </p>
        )}
        {changes.length > 0 && (
          <details>
            <summary>As a table</summary>
            <TableHold label="Change of each plot by date">
              <table>
                <thead>
                  <tr>
                    <th>Date</th>
                    <th>Plot</th>
                    {several && <th>Viewpoint</th>}
                    <th className="number">Change</th>
                    <th className="number">95 % interval</th>
                    <th>Against</th>
                    <th className="number">All ground counted</th>
                    <th>Doubt</th>
                  </tr>
                </thead>
                <tbody>
                  {response.plots.flatMap((plot) => [
                    ...plot.change.map(({ change, ...point }) => (
                      <tr key={`${plot.plotId}-${point.photoId}`}>
                        <td>
                          <Link href={`/photos/${point.photoId}`}>{dayText(point.at, lawn)}</Link>
                        </td>
                        <td>{plot.plotName}</td>
                        {several && <td>{plot.viewpointName}</td>}
                        <td className="number">{signed(point.value)}</td>
                        <td className="number">{change.isBaseline ? 'baseline' : intervalText(point)}</td>
                        <td>
                          {change.isBaseline ? '' : `${change.checkName}, since ${dayText(change.baselineAt, lawn)}`}
                        </td>
                        <td className="number">
                          {change.marksLeftOut > 0 && change.otherWay
                            ? `${signed(change.otherWay.value)} (${intervalText(change.otherWay)})`
                            : 'the same'}
                        </td>
                        <td>{[groundText(change), point.doubt ?? ''].filter(Boolean).join('. ')}</td>
                      </tr>
                    )),
                    ...plot.refused.map((change) => (
                      <tr key={`${plot.plotId}-${change.photoId}`}>
                        <td>
                          <Link href={`/photos/${change.photoId}`}>{dayText(change.takenAt, lawn)}</Link>
                        </td>
                        <td>{plot.plotName}</td>
                        {several && <td>{plot.viewpointName}</td>}
                        <td className="number">–</td>
                        <td className="number">–</td>
                        <td>{change.checkName}</td>
                        <td className="number">
                          {change.otherWay
                            ? `${signed(change.otherWay.value)} (${intervalText(change.otherWay)})`
                            : '–'}
                        </td>
                        <td>{change.refused}</td>
                      </tr>
                    )),
                  ])}
                </tbody>
              </table>
            </TableHold>
          </details>
        )}
        <p className="soft">
          One strip without a replicate speaks for itself only: the interval says how sure the colour of <em>this</em>{' '}
          ground is, not what the spray would do elsewhere.
        </p>
      </section>
      <section className="sheet">
        <h2>Index by date</h2>
        <p className="soft">
          Moves with the light as much as with the turf; when all plots move together, it was the light or the season.
          All ground counts, marked patches too. <How to="dgci" />
        </p>
        <TimeChart
          series={indexes}
          sprays={sprays}
          yLabel="Dark green colour index"
          reader={readerOf(lawn)}
          label="Dark green colour index of each plot by date"
        />
      </section>
      {(span.more || asked.to !== null) && (
        <div className="row">
          {span.more && (
            <Link
              className="button"
              href={`/response?to=${encodeURIComponent(new Date(span.from.getTime() - 1).toISOString())}`}
            >
              Earlier photos
            </Link>
          )}
          {asked.to !== null && (
            <Link className="button" href="/response">
              Newest photos
            </Link>
          )}
          <span className="soft">At most {MOST_PHOTOS} photos are charted at a time.</span>
        </div>
      )}
    </>
  );
}
