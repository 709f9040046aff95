import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { listEvents } from '@/lib/diary/lawn-events';
import type { LawnEventKind } from '@/lib/trial/lawn-event';
import type { Lawn } from '@/lib/diary/lawns';
import { listPhotos } from '@/lib/diary/photos';
import { listSprays } from '@/lib/diary/sprays';
import { weatherHoursBetween } from '@/lib/diary/weather-hours';
import { changesIn, type AskChanges } from '../photos/changes';
import { localOfInstant } from '../diary/lawn-time';
import { isNews } from '../photos/marks';
import { viewsOf, type PlotView } from '../photos/plot-cuts';

/**
 * A season on one band: what happened when, and what each plot did. Plain data, times in milliseconds since 1970, UTC.
 */
export interface SeasonBand {
  readonly fromMs: number;
  readonly toMs: number;
  /** Plots that have a change or a cut-out, in the order of their names. */
  readonly plots: readonly { readonly id: string; readonly name: string }[];
  /** Oldest first. */
  readonly photos: readonly { readonly id: string; readonly atMs: number; readonly views: readonly PlotView[] }[];
  readonly sprays: readonly { readonly id: string; readonly atMs: number; readonly plots: string }[];
  readonly events: readonly { readonly id: string; readonly atMs: number; readonly kind: LawnEventKind }[];
  /** By civil day, at its noon; days without rain are left out. */
  readonly rain: readonly { readonly atMs: number; readonly mm: number }[];
}

/** A band shows so many photos, the newest, and no longer a time: more would be too narrow to touch. */
const MOST_PHOTOS = 48;
const MOST_DAYS = 150;
const MOST_PLOTS = 6;
const BEYOND_DAYS = 14;

/** The season up to the newest photo; null with fewer than two photos that show a plot. */
export async function seasonBand(
  lawn: Lawn,
  ask: AskChanges = (ids) => changesIn(lawn.id, ids),
): Promise<SeasonBand | null> {
  const newest = (await listPhotos(lawn.id, { limit: MOST_PHOTOS })).toReversed();
  const last = newest.at(-1);
  if (!last) return null;
  const photos = newest.filter((photo) => photo.takenAt.getTime() > last.takenAt.getTime() - MOST_DAYS * DAY_MS);
  const ids = photos.map((photo) => photo.id);
  const changes = await ask(ids);
  const marks = changes.marks.filter(isNews);
  const shown = photos
    .map((photo) => ({ id: photo.id, atMs: photo.takenAt.getTime(), views: viewsOf(photo.id, changes, marks) }))
    .filter((photo) => photo.views.length > 0);
  if (shown.length < 2) return null;
  // Of many plots the ones that the newest photos show.
  const plots = [
    ...new Map(
      shown
        .toReversed()
        .flatMap((photo) => photo.views)
        .map((view) => [view.plotId, { id: view.plotId, name: view.plotName }]),
    ).values(),
  ]
    .slice(0, MOST_PLOTS)
    .toSorted((a, b) => a.name.localeCompare(b.name, 'en', { numeric: true }));
  const wanted = new Set(plots.map((plot) => plot.id));
  const from = new Date(Math.min(shown[0]!.atMs) - 2 * DAY_MS);
  const [sprays, events, hours] = await Promise.all([
    listSprays(lawn.id, { after: from, limit: 200 }),
    listEvents(lawn.id, { from, limit: 200 }),
    weatherHoursBetween(lawn.id, from, new Date(last.takenAt.getTime() + 2 * DAY_MS)),
  ]);
  const done = sprays.filter((spray) => spray.state === 'done');
  // What lies far beyond the last photo isn't of this season, and would press it together.
  const endMs = shown.at(-1)!.atMs + BEYOND_DAYS * DAY_MS;
  const toMs = Math.max(
    shown.at(-1)!.atMs,
    ...[...done.map((spray) => spray.startedAt.getTime()), ...events.map((event) => event.at.getTime())].filter(
      (ms) => ms <= endMs,
    ),
  );
  const rain = new Map<string, { atMs: number; mm: number }>();
  for (const hour of hours) {
    const mm = hour.rainMm ?? 0;
    if (mm <= 0) continue;
    const day = localOfInstant(hour.hourStart, lawn.timeZone).slice(0, 10);
    const known = rain.get(day);
    if (known) known.mm += mm;
    else rain.set(day, { atMs: Date.parse(`${day}T12:00:00Z`), mm });
  }
  return {
    fromMs: from.getTime(),
    toMs: toMs + DAY_MS,
    plots,
    photos: shown.map((photo) => ({ ...photo, views: photo.views.filter((view) => wanted.has(view.plotId)) })),
    sprays: done
      .filter((spray) => spray.startedAt.getTime() <= toMs)
      .map((spray) => ({
        id: spray.id,
        atMs: spray.startedAt.getTime(),
        plots: spray.plots.map((covered) => covered.plot.name).join(', '),
      })),
    events: events
      .filter((event) => event.at.getTime() <= toMs)
      .map((event) => ({ id: event.id, atMs: event.at.getTime(), kind: event.kind })),
    rain: [...rain.values()].filter(({ mm }) => mm >= 0.2),
  };
}
