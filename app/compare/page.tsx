import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { dayText, momentText, readerOf } from '@/lib/units/dates';
import { findLawn } from '@/lib/diary/lawns';
import { readCompareQuery } from '@/lib/forms/compare-query';
import { beforeAfter } from '@/lib/work/before-after';
import { Slider } from './slider';

export const metadata: Metadata = { title: 'Before and after' };

export default async function ComparePage({ searchParams }: { searchParams: Promise<Record<string, string | string[] | undefined>> }) {
  const query = readCompareQuery(await searchParams);
  const pair = query ? await beforeAfter(query.viewpoint, query.before, query.after) : null;
  const lawn = pair ? await findLawn(pair.lawnId) : null;
  if (!query || !pair || !lawn) notFound();
  const { before, after, photos, matrix3d, viewpointName } = pair;
  const reader = readerOf(lawn);
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
      {before && after && before.id !== after.id ? (
        <>
          <Slider
            before={{ src: `/api/photos/${before.id}?width=1600`, alt: `Photo of ${dayText(before.takenAt, reader)}`, label: momentText(before.takenAt, reader), width: before.widthPx, height: before.heightPx }}
            after={{ src: `/api/photos/${after.id}?width=1600`, alt: `Photo of ${dayText(after.takenAt, reader)}`, label: momentText(after.takenAt, reader), width: after.widthPx, height: after.heightPx }}
            matrix3d={matrix3d}
          />
          <p className="soft">
            {matrix3d ? 'The earlier photo is laid onto the later by the plots’ corners.' : 'The photos share no outlined plot, so they lie on each other as they were taken.'}{' '}
            <Link href={`/photos/${before.id}`}>Readings before</Link> · <Link href={`/photos/${after.id}`}>Readings after</Link>
          </p>
        </>
      ) : (
        <p className="notice">Two photos of this viewpoint are needed; pick two that differ.</p>
      )}
    </>
  );
}
