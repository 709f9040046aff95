import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { dayText, momentText, readerOf } from '@/lib/units/dates';
import { findLawn } from '@/lib/diary/lawns';
import { readCompareQuery } from '@/lib/forms/queries/compare-query';
import { beforeAfter } from '@/lib/work/photos/before-after';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { How } from '@/app/_ui/how';
import { markKindWords } from '@/app/_ui/mark-words';
import { TableHold } from '@/app/_ui/table-hold';
import { signedIndex } from '@/lib/units/show-index';
import { compareView } from '@/lib/work/photos/compare-view';
import type { PlotDifference } from '@/lib/work/photos/differences';
import { barScale, ChangeBar } from '../diary/change-bar';
import { Slider } from './slider';
import { askPage } from '@/app/_ui/rights';

const differenceText = (one: PlotDifference | null): string =>
  one === null
    ? '–'
    : `${signedIndex(one.difference)}${one.low95 === null || one.high95 === null ? '' : ` (${signedIndex(one.low95)} to ${signedIndex(one.high95)})`}`;

export const metadata: Metadata = { title: 'Before and after' };

export default async function ComparePage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const query = readCompareQuery(await searchParams);
  if (query) await askPage('looks', { viewpoint: query.viewpoint });
  const pair = query ? await beforeAfter(query.viewpoint, query.before, query.after) : null;
  const lawn = pair ? await findLawn(pair.lawnId) : null;
  if (!query || !pair || !lawn) notFound();
  const { before, after, photos, matrix3d, viewpointName } = pair;
  const reader = readerOf(lawn);
  const seen = before && after && before.id !== after.id ? await compareView(lawn.id, before, after) : null;
  const scale = barScale(seen?.plots.map((plot) => plot.change?.headline ?? null) ?? []);
  const hours = photos.map((photo) => ({ value: photo.id, label: momentText(photo.takenAt, reader) }));
  return (
    <>
      <h1>Before and after, {viewpointName}</h1>
      <form className="row" style={{ marginBottom: '1rem' }}>
        <input type="hidden" name="viewpoint" value={query.viewpoint} />
        {(['before', 'after'] as const).map((which) => (
          <label key={which} className="field">
            {which === 'before' ? 'Before' : 'After'}
            <select name={which} defaultValue={(which === 'before' ? before : after)?.id}>
              {hours.map((choice) => (
                <option key={choice.value} value={choice.value}>
                  {choice.label}
                </option>
              ))}
            </select>
          </label>
        ))}
        <button type="submit" className="button-plain">
          Show these
        </button>
      </form>
      {before && after && seen ? (
        <>
          <Slider
            before={{
              id: before.id,
              alt: `Photo of ${dayText(before.takenAt, reader)}`,
              label: momentText(before.takenAt, reader),
              width: before.widthPx,
              height: before.heightPx,
            }}
            after={{
              id: after.id,
              alt: `Photo of ${dayText(after.takenAt, reader)}`,
              label: momentText(after.takenAt, reader),
              width: after.widthPx,
              height: after.heightPx,
            }}
            matrix3d={matrix3d}
            overlay={{
              outlines: seen.outlines,
              marks: seen.marks.map((mark) => ({
                id: mark.id,
                label: markKindWords[mark.kind],
                polygon: mark.polygon,
              })),
            }}
          />
          <BeingWorkedOut lawnId={lawn.id} photos={seen.pending} />
          {seen.plots.length > 0 && (
            <TableHold label="The plots in both photos">
              <table>
                <thead>
                  <tr>
                    <th>Plot</th>
                    <th className="number">Beside the check before</th>
                    <th className="number">After</th>
                    <th>
                      Change against the check <How to="change" />
                    </th>
                    <th>Marks after</th>
                  </tr>
                </thead>
                <tbody>
                  {seen.plots.map((plot) => (
                    <tr key={plot.plotId}>
                      <td>
                        <Link href={`/plots/${plot.plotId}`}>{plot.name}</Link>
                      </td>
                      <td className="number">{plot.isCheck ? 'the check' : differenceText(plot.before)}</td>
                      <td className="number">{plot.isCheck ? 'the check' : differenceText(plot.after)}</td>
                      <td>
                        {plot.change?.headline ? (
                          <>
                            <ChangeBar figure={plot.change.headline} scale={scale} />
                            {plot.change.baselinePhotoId !== before.id && (
                              <span className="soft"> since {dayText(plot.change.baselineAt, lawn)}, its baseline</span>
                            )}
                          </>
                        ) : (
                          <span className="soft">{plot.change?.refused ?? '–'}</span>
                        )}
                      </td>
                      <td>
                        {seen.marks
                          .filter((mark) => mark.plotId === plot.plotId)
                          .map((mark) => (
                            <Link key={mark.id} className="chip chip-mark" href={`/marks/${mark.id}`}>
                              {markKindWords[mark.kind]}
                            </Link>
                          ))}
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </TableHold>
          )}
          <p className="soft">
            {seen.marks.length > 0 &&
              'Beside the check marked patches count too; the change against it leaves them out unless all are dismissed. '}
            {matrix3d
              ? 'The earlier photo is laid onto the later by the plots’ corners.'
              : 'The photos share no outlined plot, so they lie on each other as they were taken.'}{' '}
            <Link href={`/photos/${before.id}`}>Readings before</Link> ·{' '}
            <Link href={`/photos/${after.id}`}>Readings after</Link>
          </p>
        </>
      ) : (
        <p className="notice">Two photos of this viewpoint are needed; pick two that differ.</p>
      )}
    </>
  );
}
