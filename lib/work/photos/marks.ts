import 'server-only';
import {
  findRawMark,
  markPlaces,
  marksById,
  patchesOfPlots,
  plotsWithMarks,
  sayOfPatch,
  type MarkPlace,
  type MarkState,
  type Patch,
  type RawMark,
} from '@/lib/diary/marks';
import { whileUnwritten } from '@/lib/diary/stamp';
import type { MarkKind } from '@/lib/photo/marks/kind';
import { patchesOf } from '@/lib/photo/marks/same-patch';
import { placed } from './keep-marks';
import { upToDatePhotos } from './stand-of';

/** A mark with what a person said of its patch of ground. */
export interface Mark extends Omit<RawMark, 'threadId'> {
  /** The patch of ground: the same in all photos that show it. */
  patchId: string;
  /** What a person called it, else what the search found. */
  kind: MarkKind;
  state: MarkState;
  note: string;
  /** Who said so, when a person did who was signed in by name. */
  judgedBy: string | null;
}

/** What is known of a mark without its outline, with its patch and verdict. */
type JudgedPlace = Judged<MarkPlace>;

/** Photos asked about at a time, until there are marks enough. */
const LOOK_AT = 50;
/** While everything is being worked out anew no more are asked about: pages look again by themselves. */
const LOOK_MOST = 400;

/**
 * The newest marks of some plots with their patches and verdicts, oldest photo first: those of photos whose comparison
 * is up to date, and, when told, only those that pass. No more are read whole than are given.
 */
export async function newestMarks(
  lawnId: string,
  plotIds: readonly string[],
  limit: number,
  passes: (mark: JudgedPlace) => boolean = () => true,
): Promise<Mark[]> {
  const { places, judge } = await patchesOn(plotIds);
  const found: JudgedPlace[] = [];
  let at = places.length;
  for (let looked = 0; at > 0 && looked < LOOK_MOST && found.length < limit; looked += LOOK_AT) {
    const part: JudgedPlace[] = [];
    while (at > 0 && part.length < LOOK_AT) {
      const mark = judge(places[--at]!);
      if (passes(mark)) part.push(mark);
    }
    const upToDate = await upToDatePhotos(lawnId, [...new Set(part.map((mark) => mark.photoId))]);
    found.push(...part.filter((mark) => upToDate.has(mark.photoId)));
  }
  return whole(found.slice(0, limit).toReversed());
}

/** The marks of some photos with their verdicts, of all plots that aren't in the bin. */
export async function marksOfPhotos(lawnId: string, photoIds: readonly string[]): Promise<Mark[]> {
  const plotIds = await plotsWithMarks(lawnId, photoIds);
  if (plotIds.length === 0) return [];
  const wanted = new Set(photoIds);
  const { places, judge } = await patchesOn(plotIds);
  return whole(places.filter((mark) => wanted.has(mark.photoId)).map(judge));
}

/** The marks as they are kept, with what was found out of their patches. */
async function whole(places: readonly JudgedPlace[]): Promise<Mark[]> {
  const raw = await marksById(places.map((mark) => mark.id));
  return places.flatMap(({ patchId, kind, state, note, judgedBy, id }): Mark[] => {
    const { threadId: _threadId, ...mark } = raw.get(id) ?? {};
    return 'id' in mark ? [{ ...(mark as Omit<RawMark, 'threadId'>), patchId, kind, state, note, judgedBy }] : [];
  });
}

/** What is worth a sign in a list: a mark of a named kind that wasn't there before and that nobody dismissed. */
export const isNews = (mark: Mark): boolean => mark.isNew && mark.state !== 'dismissed' && mark.foundKind !== 'other';

type Judged<T> = Omit<T, 'threadId'> & Pick<Mark, 'patchId' | 'kind' | 'state' | 'note' | 'judgedBy'>;

interface Sorted {
  /** In the order of marksOfPlots. */
  readonly places: readonly MarkPlace[];
  readonly judge: <T extends MarkPlace>(mark: T) => Judged<T>;
}

/**
 * Several parts of a page ask for the same plots, and years of a plot's marks have to be sorted to know one of them.
 */
const sortedMarks = whileUnwritten(8, async (key): Promise<Sorted> => {
  const plotIds = key.split(' ');
  const places = await markPlaces(plotIds);
  return { places, judge: judging(places, await patchesOfPlots(plotIds)) };
});

/** All marks of some plots, sorted into patches. */
const patchesOn = async (plotIds: readonly string[]): Promise<Sorted> =>
  plotIds.length === 0
    ? { places: [], judge: judging([], []) }
    : sortedMarks([...new Set(plotIds)].toSorted().join(' '));

/**
 * Sorts marks into patches.
 * @param marks all of some plots
 * @returns what tells of one of them what a person said of its patch
 */
function judging(marks: readonly MarkPlace[], patches: readonly Patch[]): <T extends MarkPlace>(mark: T) => Judged<T> {
  const place = (across: number | null, along: number | null) =>
    across === null || along === null ? null : { across, along };
  const patchOf = new Map<string, string>();
  const byPlot = new Map<string, MarkPlace[]>();
  for (const mark of marks) {
    const own = byPlot.get(mark.plotId);
    if (own) own.push(mark);
    else byPlot.set(mark.plotId, [mark]);
  }
  for (const [plotId, own] of byPlot) {
    const found = patchesOf(
      own.map((mark) => ({
        id: mark.id,
        photoId: mark.photoId,
        takenAtMs: mark.takenAt.getTime(),
        place: place(mark.acrossShare, mark.alongShare),
        name: mark.threadId,
      })),
      patches
        .filter((patch) => patch.plotId === plotId)
        .map((patch) => ({
          id: patch.id,
          place: place(patch.acrossShare, patch.alongShare),
          fromMs: patch.seenFrom.getTime(),
          toMs: patch.seenTo.getTime(),
        })),
    );
    for (const [markId, patchId] of found) patchOf.set(markId, patchId);
  }
  const said = new Map(patches.map((patch) => [patch.id, patch]));
  return ({ threadId: _threadId, ...mark }) => {
    const patchId = patchOf.get(mark.id) as string;
    const patch = said.get(patchId);
    return {
      ...mark,
      patchId,
      kind: patch?.kind ?? mark.foundKind,
      state: patch?.state ?? 'open',
      note: patch?.note ?? '',
      judgedBy: patch?.byPersonId ?? null,
    };
  };
}

/** One sighting of a patch of ground: a mark without its outline. */
export type PatchSighting = Pick<Mark, 'id' | 'photoId' | 'takenAt' | 'patchId' | 'state'>;

/**
 * A mark with all sightings of its patch, oldest first; null when no such mark is there. The name of a patch stands for
 * its newest sighting.
 */
export async function markAndItsPatch(id: string): Promise<{ mark: Mark; sightings: readonly PatchSighting[] } | null> {
  const raw = await findRawMark(id);
  if (!raw) return null;
  const { places, judge } = await patchesOn([raw.plotId]);
  const own = places.find((one) => one.id === id);
  const [mark] = own ? await whole([judge(own)]) : [];
  return mark ? { mark, sightings: places.map(judge).filter((one) => one.patchId === mark.patchId) } : null;
}

/** What a person says of a mark: it is said of the patch of ground, and holds in every photo that shows it. */
export async function judgeMark(
  id: string,
  judgement: { state: MarkState; kind?: MarkKind },
  now: Date,
): Promise<void> {
  const found = await markAndItsPatch(id);
  if (!found) return;
  const { mark, sightings } = found;
  const raw = await findRawMark(id);
  const [at] = raw ? await placed([raw]) : [];
  await sayOfPatch(
    mark.patchId,
    {
      plotId: mark.plotId,
      acrossShare: at?.place.across ?? null,
      alongShare: at?.place.along ?? null,
      seenFrom: sightings[0]?.takenAt ?? mark.takenAt,
      seenTo: sightings.at(-1)?.takenAt ?? mark.takenAt,
      state: judgement.state,
      kind: judgement.kind ?? null,
    },
    now,
  );
}

/** When each patch was first seen, of the plots some marks lie on. */
export async function firstSeen(marks: readonly Mark[]): Promise<Map<string, Date>> {
  const plotIds = [...new Set(marks.map((mark) => mark.plotId))];
  const { places: all, judge } = await patchesOn(plotIds);
  const first = new Map<string, Date>();
  for (const { patchId, takenAt } of all.map(judge)) if (!first.has(patchId)) first.set(patchId, takenAt);
  return first;
}
