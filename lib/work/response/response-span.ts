import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { measuredPhotoAt } from '@/lib/diary/photos';

/** As many photos as one chart can show apart; more are a page further back. */
export const MOST_PHOTOS = 100;

export interface ResponseSpan {
  readonly from: Date;
  readonly to: Date;
  /** Whether the diary has measured photos from before. */
  readonly more: boolean;
}

/** The span to chart: what was asked for, else the newest measured photos, at most MOST_PHOTOS of them. */
export async function responseSpan(
  lawnId: string,
  asked: { from: Date | null; to: Date | null },
  now: Date,
): Promise<ResponseSpan> {
  const to = asked.to ?? new Date(now.getTime() + DAY_MS);
  const from = asked.from ?? (await measuredPhotoAt(lawnId, to, MOST_PHOTOS)) ?? new Date(0);
  return { from, to, more: (await measuredPhotoAt(lawnId, new Date(from.getTime() - 1), 1)) !== null };
}
