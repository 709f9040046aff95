import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { PhotoCard } from '@/app/_ui/photo-card';
import { listPhotos } from '@/lib/diary/photos';
import { listViewpoints } from '@/lib/diary/viewpoints';
import { readPhotosQuery } from '@/lib/forms/queries/photos-query';
import { Upload } from './upload';
import { Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Photos' };

const pageSize = 48;

export default async function PhotosPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  if (!lawn) {
    return (
      <div className="teach">
        <h1>Photos</h1>
        <p>Photos belong to a lawn. Set one up first; a name and a time zone are enough.</p>
        <Link className="button button-main" href="/lawn">
          Set up your lawn
        </Link>
      </div>
    );
  }
  const query = readPhotosQuery(await searchParams);
  const [viewpoints, found] = await Promise.all([
    listViewpoints(lawn.id),
    listPhotos(lawn.id, { ...query, limit: pageSize + 1 }),
  ]);
  const photos = found.slice(0, pageSize);
  const last = photos.at(-1);
  const base = query.viewpointId ? `viewpoint=${query.viewpointId}&` : '';
  return (
    <>
      <Rights lawnId={lawn.id} quiet />
      <div className="row row-end">
        <h1>Photos</h1>
        <Link className="button" href="/capture">
          Take photos on the lawn
        </Link>
      </div>
      <div className="for-works">
        <Upload lawnId={lawn.id} viewpoints={viewpoints} />
      </div>
      {viewpoints.length > 0 && (
        <div className="row" style={{ marginBottom: '1rem' }} role="group" aria-label="Viewpoint">
          <Link className="chip" aria-current={query.viewpointId === undefined} href="/photos">
            All viewpoints
          </Link>
          {viewpoints.map((viewpoint) => (
            <span key={viewpoint.id} className="row" style={{ gap: '0.25rem' }}>
              <Link
                className="chip"
                aria-current={query.viewpointId === viewpoint.id}
                href={`/photos?viewpoint=${viewpoint.id}`}
              >
                {viewpoint.name}
              </Link>
              {query.viewpointId === viewpoint.id && (
                <Link className="button" href={`/compare?viewpoint=${viewpoint.id}`}>
                  Before and after
                </Link>
              )}
            </span>
          ))}
        </div>
      )}
      {photos.length === 0 ? (
        <div className="teach">
          <h2>How to take photos that can be compared</h2>
          <p>
            Stand in the same place each time, hold the phone level, and keep all plots, the check included, and a fixed
            edge (path, stakes) in the picture. Even light is best: a bright overcast sky, or the same hour on clear
            days. A grey card on the turf helps.
          </p>
        </div>
      ) : (
        <ul className="photo-grid">
          {photos.map((photo) => (
            <li key={photo.id}>
              <PhotoCard photo={photo} reader={lawn}>
                {photo.measureState === 'failed' && <span className="wrong"> · not measured</span>}
              </PhotoCard>
            </li>
          ))}
        </ul>
      )}
      {found.length > pageSize && last && (
        <Link className="button" href={`/photos?${base}before=${encodeURIComponent(last.takenAt.toISOString())}`}>
          Earlier photos
        </Link>
      )}
    </>
  );
}
