import 'server-only';
import { personNow } from '@/lib/visit';
import { diary } from './client';

export interface RatingInput {
  plotId: string;
  photoId?: string | null;
  trialId?: string | null;
  rater: string;
  /** 1 poorest .. 9 best. */
  score: number;
  blind: boolean;
  ratedAt: Date;
}

export async function addRatings(ratings: readonly RatingInput[]): Promise<void> {
  await diary().rating.createMany({ data: ratings.map((rating) => ({ ...rating, byPersonId: personNow() })) });
}

export interface Rating {
  id: string;
  plotId: string;
  photoId: string | null;
  rater: string;
  score: number;
  blind: boolean;
  /** When the turf looked so: the photo's time, else when it was rated. */
  seenAt: Date;
  ratedAt: Date;
  /** Who wrote it down (a person); null: nobody was signed in by name. */
  byPersonId: string | null;
}

/** All ratings of a trial, oldest first. */
export async function ratingsOfTrial(trialId: string): Promise<Rating[]> {
  const rows = await diary().rating.findMany({
    where: { trialId },
    orderBy: [{ ratedAt: 'asc' }, { id: 'asc' }],
    include: { photo: { select: { takenAt: true } } },
  });
  return rows.map(({ photo, trialId: _trialId, ...rest }) => ({ ...rest, seenAt: photo?.takenAt ?? rest.ratedAt }));
}
