import 'server-only';
import { changesOfPhotos, type Change } from '@/lib/diary/changes';
import { marksOfPhotos, type Mark } from './marks';
import { isUpToDate, standOf, type Stand } from './stand-of';

export interface Figure {
  readonly value: number;
  /** 95%; null where the ground compared is too small to say. */
  readonly low95: number | null;
  readonly high95: number | null;
}

/**
 * The change of one plot in one photo: its index after less before, less the same of the check in the same two photos.
 * This is the one definition; every page, table and analysis takes it from here.
 *
 * The headline leaves marked patches out, on the plot and on the check, because haze or scorch is no greening; it
 * counts all ground where a person dismissed every mark there. The other way of counting is given beside it.
 */
export interface PlotChange {
  readonly photoId: string;
  readonly plotId: string;
  readonly plotName: string;
  readonly takenAt: Date;
  readonly viewpointId: string | null;
  readonly checkPlotId: string;
  readonly checkName: string;
  readonly baselinePhotoId: string;
  readonly baselineAt: Date;
  /** The photo is the baseline of its plot's series: its change is nothing, by definition. */
  readonly isBaseline: boolean;
  /**
   * Whether the photo lies after the first spray of the plot's series; before it the change is since the viewpoint's
   * first photo.
   */
  readonly sinceSpray: boolean;
  /** Null where `refused` says why. */
  readonly headline: Figure | null;
  readonly counted: 'without-marks' | 'all-ground';
  /** How many marks on the plot or the check the headline leaves out. */
  readonly marksLeftOut: number;
  /**
   * All ground where the headline leaves marks out, and the other way round; null when there is no mark or nothing to
   * give.
   */
  readonly otherWay: Figure | null;
  readonly refused: string | null;
}

export interface Changes {
  /** One a photo and plot that has a check beside it; the check itself has none. */
  readonly changes: readonly PlotChange[];
  /** Photos whose rows are being worked out: they have no changes here. */
  readonly pending: ReadonlySet<string>;
  readonly stands: ReadonlyMap<string, Stand>;
  /** The marks of those that aren't. */
  readonly marks: readonly Mark[];
}

/** The change with all ground counted, marked patches too. */
export function countingAllGround(change: PlotChange): Figure | null {
  return change.counted === 'all-ground' ? change.headline : (change.otherWay ?? change.headline);
}

const figure = (value: number | null, low95: number | null, high95: number | null): Figure | null =>
  value === null ? null : { value, low95, high95 };

/** The changes of all plots in some photos of a lawn, in the order of the photos given. */
export async function changesIn(lawnId: string, photoIds: readonly string[]): Promise<Changes> {
  const stands = await standOf(lawnId, photoIds);
  const pending = new Set([...stands.values()].filter((stand) => !isUpToDate(stand)).map((stand) => stand.state.id));
  const shown = photoIds.flatMap((id) => (stands.has(id) && !pending.has(id) ? [stands.get(id)!] : []));
  const ids = shown.map((stand) => stand.state.id);
  const [rows, marks] = await Promise.all([changesOfPhotos(ids), marksOfPhotos(lawnId, ids)]);
  const rowOf = new Map(rows.map((row) => [`${row.photoId} ${row.plotId} ${row.checkPlotId}`, row]));
  const marksIn = new Map<string, Mark[]>();
  for (const mark of marks) marksIn.set(mark.photoId, [...(marksIn.get(mark.photoId) ?? []), mark]);
  const changes = shown.flatMap(({ state, pairing }): PlotChange[] => {
    return state.outlines
      .filter((outline) => outline.accepted && !outline.plotBinned)
      .toSorted((a, b) => a.plotName.localeCompare(b.plotName))
      .flatMap((outline): PlotChange[] => {
        const { baseline, check } = pairing.beside.get(outline.plotId) ?? {};
        if (!baseline || !check) return [];
        const common = {
          photoId: state.id,
          plotId: outline.plotId,
          plotName: outline.plotName,
          takenAt: state.takenAt,
          viewpointId: state.viewpointId,
          checkPlotId: check.plotId,
          checkName: check.plotName,
        };
        if (baseline.isBaseline) {
          return [
            {
              ...common,
              baselinePhotoId: state.id,
              baselineAt: state.takenAt,
              isBaseline: true,
              sinceSpray: true,
              headline: { value: 0, low95: null, high95: null },
              counted: 'without-marks',
              marksLeftOut: 0,
              otherWay: null,
              refused: null,
            },
          ];
        }
        const before = pairing.groups.find((group) => group.baseline.id === baseline.photoId)?.baseline;
        if (!before) return [];
        return [
          {
            ...common,
            baselinePhotoId: before.id,
            baselineAt: before.takenAt,
            isBaseline: false,
            sinceSpray: baseline.sinceSpray,
            ...figuresOf(
              rowOf.get(`${state.id} ${outline.plotId} ${check.plotId}`),
              (marksIn.get(state.id) ?? []).filter(
                (mark) => mark.plotId === outline.plotId || mark.plotId === check.plotId,
              ),
            ),
          },
        ];
      });
  });
  return { changes, pending, stands, marks };
}

/** Asks for the changes of photos, as changesIn does. */
export type AskChanges = (photoIds: readonly string[]) => Promise<Changes>;

/**
 * The changes of one page, several parts of which ask for photos that partly are the same: each photo is looked up
 * once. For the time of one answer only, since what it learned is not looked at again.
 */
export function askChangesOnce(lawnId: string): AskChanges {
  const known = new Map<string, Promise<Changes>>();
  return async (photoIds) => {
    const fresh = [...new Set(photoIds)].filter((id) => !known.has(id));
    if (fresh.length > 0) {
      const answer = changesIn(lawnId, fresh);
      for (const id of fresh) known.set(id, answer);
    }
    const answers = await Promise.all(new Set(photoIds.map((id) => known.get(id)!)));
    const asked = new Set(photoIds);
    const byPhoto = new Map<string, PlotChange[]>();
    for (const change of answers.flatMap((answer) => answer.changes)) {
      const own = byPhoto.get(change.photoId);
      if (own) own.push(change);
      else if (asked.has(change.photoId)) byPhoto.set(change.photoId, [change]);
    }
    return {
      changes: photoIds.flatMap((id) => byPhoto.get(id) ?? []),
      pending: new Set(answers.flatMap((answer) => [...answer.pending]).filter((id) => asked.has(id))),
      stands: new Map(answers.flatMap((answer) => [...answer.stands]).filter(([id]) => asked.has(id))),
      marks: answers
        .flatMap((answer) => answer.marks)
        .filter((mark) => asked.has(mark.photoId))
        .toSorted((a, b) => a.takenAt.getTime() - b.takenAt.getTime() || b.score - a.score),
    };
  };
}

function figuresOf(
  row: Change | undefined,
  marks: readonly Mark[],
): Pick<PlotChange, 'headline' | 'counted' | 'marksLeftOut' | 'otherWay' | 'refused'> {
  if (!row)
    return {
      headline: null,
      counted: 'without-marks',
      marksLeftOut: 0,
      otherWay: null,
      refused: 'This plot could not be compared with its baseline photo.',
    };
  const all = figure(row.difference, row.low95, row.high95);
  const without = figure(row.differenceWithoutMarks, row.low95WithoutMarks, row.high95WithoutMarks);
  const standing = marks.filter((mark) => mark.state !== 'dismissed');
  const leaveOut = standing.length > 0 || marks.length === 0;
  const headline = leaveOut ? without : all;
  const refused = headline
    ? null
    : (row.refusedReason ??
      (all && leaveOut
        ? 'Nothing but marked patches is left to compare on this plot or the check.'
        : 'This plot could not be compared with its baseline photo.'));
  return {
    headline,
    counted: leaveOut ? 'without-marks' : 'all-ground',
    marksLeftOut: standing.length > 0 ? marks.length : 0,
    otherWay: marks.length === 0 ? null : leaveOut ? all : without,
    refused,
  };
}
