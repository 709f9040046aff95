import 'server-only';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { lastOf } from '@/lib/trial/lawn-event';
import { HOUR_MS } from '@/lib/weather/hour';
import { eventsNear } from './events-near';

const DAY_MS = 24 * HOUR_MS;
/** Without a baseline nobody looks further back for a mowing. */
const MOWN_LOOK_MS = 60 * DAY_MS;

/** What the diary's events and weather hours say of the grass at the moment of a photo. */
export interface MomentOfGrass {
  /** Hours since rain or irrigation ended or was written down, within the day before; null when none is known. */
  readonly hoursSinceWater: number | null;
  /** When it was last mown after the baseline photo, or null when no mowing since is written down. */
  readonly mownSince: Date | null;
}

/** @param plotIds the plots the photo shows  @param baselineAt when the photo it is compared with was taken, or null */
export async function momentOfGrass(lawnId: string, plotIds: readonly string[], takenAt: Date, baselineAt: Date | null): Promise<MomentOfGrass> {
  const dayBefore = new Date(takenAt.getTime() - DAY_MS);
  const from = new Date(Math.min(dayBefore.getTime(), baselineAt?.getTime() ?? takenAt.getTime() - MOWN_LOOK_MS));
  const [hours, events] = await Promise.all([weatherHoursBetween(lawnId, dayBefore, takenAt), eventsNear(lawnId, plotIds, from, takenAt)]);
  // The events are the plots' own already: what shares their ground included.
  const here = [...new Set([...plotIds, ...events.flatMap((event) => event.plotIds)])];
  const lastWet = hours.findLast((hour) => (hour.rainMm ?? 0) > 0);
  const since = [
    ...(lastWet ? [Math.max(0, (takenAt.getTime() - lastWet.hourStart.getTime()) / HOUR_MS - 1)] : []),
    ...(['watering', 'rain'] as const).flatMap((kind) => {
      const last = lastOf(kind, events, here, dayBefore, takenAt);
      return last === null ? [] : [(takenAt.getTime() - last.at.getTime()) / HOUR_MS];
    }),
  ];
  const mown = baselineAt === null ? null : lastOf('mowing', events, here, baselineAt, takenAt);
  return { hoursSinceWater: since.length === 0 ? null : Math.min(...since), mownSince: mown?.at ?? null };
}
