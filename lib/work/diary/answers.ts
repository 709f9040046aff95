import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { listPhotos, type Photo, type PhotoShown } from '@/lib/diary/photos';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { answerOf, type AnswerCause, type AnswerMark } from '@/lib/explain/answer-of-sprays';
import { trialAnswer } from '@/lib/explain/answer-of-trial';
import { type Answer, type AnswerPoint, type PlotStory } from '@/lib/explain/answer';
import { daysBetween } from '@/lib/trial/due';
import { mostHelpful, nextTimeText } from '@/lib/explain/next-time';
import { changesIn, type AskChanges, type Changes, type PlotChange } from '../photos/changes';
import { causesOfMark } from '../photos/find-causes';
import { localOfInstant } from './lawn-time';
import { isNews, type Mark } from '../photos/marks';
import { photosSince, spraysBefore } from '../photos/photo-links';
import type { TrialReport } from '../trials/report-trial';
import { labelOf } from '../trials/trial-record';

/** As many photos after a spray are spoken of: some weeks of them. */
const PHOTOS_SINCE = 60;

const dateOf = (at: Date, zone: string): string => localOfInstant(at, zone).slice(0, 10);

/** '3 days after', by the calendar. */
function daysAfter(from: Date, to: Date, zone: string): string {
  const days = daysBetween(dateOf(from, zone), dateOf(to, zone));
  return days === 0 ? 'the same day' : days === 1 ? 'one day after' : `${days} days after`;
}

const pointOf = (change: PlotChange, when: string): AnswerPoint => ({
  evidence: { kind: 'photo', id: change.photoId },
  when,
  figure: change.headline,
  refused: change.refused,
});

/** A change that says what a spray did: not a baseline's own nothing, nor one from before any spray. */
const speaks = (change: PlotChange): boolean => change.sinceSpray && !change.isBaseline;

/** What a photo shows against its baseline; null where no plot of it has one yet. */
export async function answerOfPhoto(
  lawn: Lawn,
  photo: Photo,
  plotIds: readonly string[],
  { changes, pending }: Changes,
  allMarks: readonly Mark[],
): Promise<Answer | null> {
  const own = changes.filter((change) => change.photoId === photo.id && speaks(change));
  if (pending.has(photo.id)) return null;
  const marks = allMarks.filter(isNews);
  if (own.length === 0 && marks.length === 0) return null;
  const sprays = await spraysBefore({ lawnId: lawn.id, takenAt: photo.takenAt, plotIds: [...plotIds] });
  const stories = own.map((change): PlotStory => {
    const last = sprays.findLast((spray) => spray.plots.some((covered) => covered.plotId === change.plotId));
    return {
      name: change.plotName,
      points: [
        pointOf(
          change,
          last
            ? `${daysAfter(last.startedAt, photo.takenAt, lawn.timeZone)} its spray`.replace(
                'the same day its spray',
                'on the day of its spray',
              )
            : '',
        ),
      ],
      before: null,
    };
  });
  return answerOf({
    stories,
    marks: marks.map((mark) => ({ ...mark, confirmed: mark.state === 'confirmed', goneWhen: null })),
    cause: await causeOf(lawn, marks),
    photos: 1,
    pending: 0,
  });
}

export interface SpraysAnswer {
  readonly sprays: readonly Spray[];
  readonly answer: Answer;
  /** Photos it rests on that are being worked out. */
  readonly pending: number;
}

/** What a spray did, as far as the photos since tell. */
export const answerOfSpray = (lawn: Lawn, spray: Spray, photos?: readonly PhotoShown[]): Promise<SpraysAnswer> =>
  answerOfSprays(lawn, [spray], photos);

/** What the sprays of the lawn's last day of spraying did; null when nothing was sprayed. */
export async function latestAnswer(lawn: Lawn, now: Date, ask?: AskChanges): Promise<SpraysAnswer | null> {
  const done = (await listSprays(lawn.id, { before: new Date(now.getTime() + 1), limit: 12 })).filter(
    (spray) => spray.state === 'done',
  );
  const [last] = done;
  if (!last) return null;
  const day = dateOf(last.startedAt, lawn.timeZone);
  return answerOfSprays(
    lawn,
    done.filter((spray) => dateOf(spray.startedAt, lawn.timeZone) === day).toReversed(),
    undefined,
    ask,
  );
}

async function answerOfSprays(
  lawn: Lawn,
  sprays: readonly Spray[],
  known?: readonly PhotoShown[],
  ask: AskChanges = (ids) => changesIn(lawn.id, ids),
): Promise<SpraysAnswer> {
  const since = known ? [known] : await Promise.all(sprays.map((spray) => photosSince(spray, PHOTOS_SINCE)));
  const photos = [...new Map(since.flat().map((photo) => [photo.id, photo])).values()]
    .toSorted((a, b) => a.takenAt.getTime() - b.takenAt.getTime())
    .slice(0, PHOTOS_SINCE);
  const plots = sprays
    .flatMap((spray) => spray.plots.map((covered) => ({ spray, plotId: covered.plotId, name: covered.plot.name })))
    // Two sprays of one instant on a plot have one story.
    .filter(
      (one, place, all) =>
        place ===
        all.findIndex(
          (other) => other.plotId === one.plotId && other.spray.startedAt.getTime() === one.spray.startedAt.getTime(),
        ),
    );
  const [later, earlier] = await Promise.all([
    listSprays(lawn.id, { after: sprays[0]!.startedAt, plotIds: plots.map((plot) => plot.plotId), limit: 200 }),
    Promise.all(plots.map(({ spray, plotId }) => listPhotos(lawn.id, { before: spray.startedAt, plotId, limit: 1 }))),
  ]);
  const changes = await ask(
    [...earlier.flatMap(([photo]) => photo?.id ?? []), ...photos.map((photo) => photo.id)].filter(
      (id, at, all) => all.indexOf(id) === at,
    ),
  );
  const photosOf = new Map(
    plots.map(({ spray, plotId }) => {
      // A plot's story ends where it is sprayed again.
      const again = later.findLast(
        (other) =>
          other.state === 'done' &&
          other.id !== spray.id &&
          other.startedAt > spray.startedAt &&
          other.plots.some((covered) => covered.plotId === plotId),
      )?.startedAt;
      return [
        `${spray.id} ${plotId}`,
        new Set(
          photos
            .filter((photo) => photo.takenAt >= spray.startedAt && (!again || photo.takenAt < again))
            .map((photo) => photo.id),
        ),
      ] as const;
    }),
  );
  const stories = plots.flatMap(({ spray, plotId, name }, place): PlotStory[] => {
    const own = changes.changes.filter(
      (change) =>
        change.plotId === plotId && speaks(change) && photosOf.get(`${spray.id} ${plotId}`)!.has(change.photoId),
    );
    if (own.length === 0) return [];
    const before = changes.changes.find(
      (change) =>
        change.plotId === plotId &&
        change.photoId === earlier[place]![0]?.id &&
        speaks(change) &&
        change.baselinePhotoId === own[0]!.baselinePhotoId &&
        change.headline !== null,
    );
    return [
      {
        name,
        points: own.map((change) => pointOf(change, daysAfter(spray.startedAt, change.takenAt, lawn.timeZone))),
        before: before?.headline ? { evidence: { kind: 'photo', id: before.photoId }, figure: before.headline } : null,
      },
    ];
  });
  const shown = photos.filter((photo) => !changes.pending.has(photo.id));
  const marks = changes.marks.filter(
    (mark) =>
      isNews(mark) &&
      plots.some(
        ({ spray, plotId }) => plotId === mark.plotId && photosOf.get(`${spray.id} ${plotId}`)!.has(mark.photoId),
      ),
  );
  const patches = [...new Set(marks.map((mark) => mark.patchId))].map((patchId): { mark: Mark; said: AnswerMark } => {
    const seen = marks.filter((mark) => mark.patchId === patchId);
    const mark = seen.toSorted((a, b) => b.areaShare - a.areaShare)[0]!;
    const { spray } = plots.find((plot) => plot.plotId === mark.plotId)!;
    const last = seen.reduce((latest, one) => (one.takenAt > latest ? one.takenAt : latest), mark.takenAt);
    const viewpointId = shown.find((photo) => photo.id === mark.photoId)?.viewpointId;
    const gone = shown.find(
      (photo) => photo.takenAt > last && photo.viewpointId === viewpointId && photo.plotIds.includes(mark.plotId),
    );
    return {
      mark,
      said: {
        ...mark,
        confirmed: mark.state === 'confirmed',
        goneWhen: gone ? daysAfter(spray.startedAt, gone.takenAt, lawn.timeZone) : null,
      },
    };
  });
  const cause = await causeOf(
    lawn,
    patches.map(({ mark }) => mark),
    sprays,
  );
  const pending = [...changes.pending].filter((id) => photos.some((photo) => photo.id === id)).length;
  return {
    sprays,
    pending: changes.pending.size,
    answer: answerOf({ stories, marks: patches.map(({ said }) => said), cause, photos: shown.length, pending }),
  };
}

/**
 * The likely causes of the largest mark, and what to do otherwise; null without one, or where another spray is more
 * likely held for it.
 */
async function causeOf(lawn: Lawn, marks: readonly Mark[], sprays?: readonly Spray[]): Promise<AnswerCause | null> {
  const mark = marks.toSorted((a, b) => b.areaShare - a.areaShare)[0];
  if (!mark) return null;
  const spray = sprays?.find((one) => one.plots.some((covered) => covered.plotId === mark.plotId));
  const causes = await causesOfMark(mark.id, spray?.id);
  if (!causes || causes.pending || causes.report?.kind !== 'findings' || (spray && causes.spray?.id !== spray.id))
    return null;
  const { findings } = causes.report;
  const whatIf = mostHelpful(findings);
  const address = causes.nextTime.find((one) => one.whatIf.id === whatIf?.id)?.plan;
  return {
    markId: mark.id,
    likely: findings.filter((one) => one.strength === 'likely').map((one) => one.title),
    nextTime:
      whatIf && address
        ? {
            text: nextTimeText(
              whatIf,
              { carrierLPerHa: causes.facts?.carrierLPerHa ?? null, ironKgPerHa: causes.record?.ironKgPerHa ?? null },
              lawn.unitSystem,
            ),
            address,
          }
        : null,
  };
}

/**
 * What a trial's report begins with: each treatment's curve against the check in words, and what the layout can't tell.
 */
export function answerOfTrial({ record, change }: Pick<TrialReport, 'record' | 'change'>): Answer {
  const { trial } = record;
  const check = change.plan.check;
  const { curves, area } = change.analysis;
  const stripsOf = (name: string) =>
    trial.plots.filter(
      (plot) =>
        plot.excludedReason === null &&
        trial.treatments.some(
          (one) => one.name === name && (one.id === plot.treatmentId || one.id === plot.subTreatmentId),
        ),
    );
  const stories = curves
    .filter(
      (curve) =>
        curve.treatment !== check && trial.treatments.find((one) => one.name === curve.treatment)?.items.length !== 0,
    )
    .map((curve): PlotStory => {
      const strips = stripsOf(curve.treatment).map((plot) => labelOf(trial, plot.plotId));
      return {
        name: strips.length === 1 ? `${curve.treatment} (${strips[0]})` : curve.treatment,
        points: curve.points
          .filter((point) => point.day > 0)
          .map((point) => ({
            evidence: { kind: 'analysis', id: trial.id },
            when: `on day ${point.day}`,
            figure: { value: point.response, low95: point.low, high95: point.high },
            refused: null,
          })),
        before: null,
      };
    });
  const counts = trial.treatments.map((treatment) => stripsOf(treatment.name).length);
  return trialAnswer({
    stories,
    replicates: counts.length === 0 ? 0 : Math.min(...counts),
    tested: area.kind === 'tested' ? area.sentences : [],
    trialId: trial.id,
  });
}
