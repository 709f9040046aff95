import 'server-only';
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
  await diary().rating.createMany({ data: ratings.map((rating) => ({ ...rating })) });
}
