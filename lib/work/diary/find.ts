import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { eventsById, type EventRow } from '@/lib/diary/lawn-events';
import { LAWN_EVENT_KINDS } from '@/lib/trial/lawn-event';
import {
  findEvents,
  findPhotos,
  findSprays,
  findTrials,
  type FoundPhoto,
  type FoundSpray,
  type FoundTrial,
} from '@/lib/diary/find';
import type { Lawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { patchesOfPlots, plotsWithMarks, type MarkState } from '@/lib/diary/marks';
import type { MarkKind } from '@/lib/photo/marks/kind';
import { instantOfLocal } from './lawn-time';
import { newestMarks, type Mark } from '../photos/marks';

export interface DiarySearch {
  q: string;
  in: 'all' | 'sprays' | 'photos' | 'marks' | 'trials' | 'events';
  /** Local dates, YYYY-MM-DD, both inside. */
  from: string | null;
  to: string | null;
  kind: MarkKind | null;
  state: MarkState | null;
}

export interface Found {
  sprays: FoundSpray[];
  photos: FoundPhoto[];
  marks: Mark[];
  trials: FoundTrial[];
  events: EventRow[];
  /** True where there may be more than what is listed. */
  more: boolean;
}

/** Words people look for a kind of event by. */
const kindWords: Readonly<Record<(typeof LAWN_EVENT_KINDS)[number], string>> = {
  mowing: 'mown mowing mowed cut',
  watering: 'watered watering irrigation',
  rain: 'rain rained',
  product: 'product spread granules',
  traffic: 'traffic',
  sighting: 'seen sighting',
  renovation: 'renovated renovation seeding',
};

const kindsNamed = (text: string) =>
  text.length < 3 ? [] : LAWN_EVENT_KINDS.filter((kind) => kindWords[kind].includes(text.toLowerCase()));

/** Looks through the diary of one lawn; at most `limit` of each kind, newest first. */
export async function findInDiary(
  lawn: Pick<Lawn, 'id' | 'timeZone'>,
  request: DiarySearch,
  limit = 30,
): Promise<Found> {
  const wanted = (kind: DiarySearch['in']) => request.in === 'all' || request.in === kind;
  const nextDay = (date: string) => new Date(Date.parse(`${date}T00:00Z`) + DAY_MS).toISOString().slice(0, 10);
  const options = {
    text: request.q,
    from: request.from ? instantOfLocal(`${request.from}T00:00`, lawn.timeZone) : null,
    to: request.to ? instantOfLocal(`${nextDay(request.to)}T00:00`, lawn.timeZone) : null,
    limit: limit + 1,
  };
  const [sprays, photos, marks, trials, eventIds] = await Promise.all([
    wanted('sprays') ? findSprays(lawn.id, options) : [],
    wanted('photos') ? findPhotos(lawn.id, options) : [],
    wanted('marks') ? findMarks(lawn.id, request, options) : [],
    wanted('trials')
      ? findTrials(lawn.id, { text: request.q, fromDay: request.from, toDay: request.to, limit: limit + 1 })
      : [],
    wanted('events') ? findEvents(lawn.id, { ...options, kinds: kindsNamed(request.q) }) : [],
  ]);
  const events = await eventsById(eventIds.slice(0, limit));
  const first = <T>(list: T[]) => list.slice(0, limit);
  return {
    sprays: first(sprays),
    photos: first(photos),
    marks: first(marks),
    trials: first(trials),
    events,
    more: [sprays, photos, marks, trials, eventIds].some((list) => list.length > limit),
  };
}

/**
 * Marks of a kind and state (null: any), by what a person said of them before what the search found; newest photo
 * first.
 */
async function findMarks(
  lawnId: string,
  { q, kind, state }: DiarySearch,
  { from, to, limit }: { from: Date | null; to: Date | null; limit: number },
): Promise<Mark[]> {
  const text = q.toLowerCase();
  // Plots are often called by one letter, which stands in every word: such a text has to be the whole name.
  const saysSo = (mark: Pick<Mark, 'note' | 'plotName'>) =>
    text === '' ||
    mark.note.toLowerCase().includes(text) ||
    (text.length === 1 ? mark.plotName.toLowerCase() === text : mark.plotName.toLowerCase().includes(text));
  const plotIds = await plotsWithMarks(lawnId);
  if (text !== '') {
    // No mark says it where neither a plot's name nor what a person said of a patch does.
    const [plots, patches] = await Promise.all([listPlots(lawnId), patchesOfPlots(plotIds)]);
    const anywhere =
      plots.some((plot) => plotIds.includes(plot.id) && saysSo({ note: '', plotName: plot.name })) ||
      patches.some((patch) => saysSo({ note: patch.note, plotName: '' }));
    if (!anywhere) return [];
  }
  const marks = await newestMarks(
    lawnId,
    plotIds,
    limit,
    (mark) =>
      (from === null || mark.takenAt >= from) &&
      (to === null || mark.takenAt < to) &&
      (kind === null || mark.kind === kind) &&
      (state === null || mark.state === state) &&
      saysSo(mark),
  );
  return marks.toReversed();
}
