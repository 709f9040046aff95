import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import {
  firstSprayOn,
  firstSpraysAfterPause,
  outlinedPhotosBefore,
  photoStates,
  trialPlots,
  type PhotoState,
  type StateOutline,
} from '@/lib/diary/worked-out';
import { lastShowing, PAUSE_DAYS, seriesAt, seriesStarts, type OutlinedPhoto } from '@/lib/trial/baseline';
import { EVER } from '@/lib/trial/counts-from';
import { instantOfLocal } from '../diary/lawn-time';

/**
 * What a lawn's baselines hang on: its first spray and those after a long pause, and when each trial was first sprayed
 * (see spraysOfTrial).
 */
export interface History {
  readonly afterPauseMs: readonly number[];
  readonly trials: readonly { readonly plotIds: readonly string[]; readonly firstSprayMs: number }[];
}

export async function loadHistory(lawn: Pick<Lawn, 'id' | 'timeZone'>): Promise<History> {
  const [afterPause, trials] = await Promise.all([firstSpraysAfterPause(lawn.id, PAUSE_DAYS), trialPlots(lawn.id)]);
  const firsts = await Promise.all(
    trials.map(({ startsOn, plotIds }) =>
      firstSprayOn(lawn.id, plotIds, startsOn === EVER ? null : instantOfLocal(`${startsOn}T00:00`, lawn.timeZone)),
    ),
  );
  return {
    afterPauseMs: afterPause.map((at) => at.getTime()),
    trials: trials.flatMap(({ plotIds }, place) =>
      firsts[place] ? [{ plotIds, firstSprayMs: firsts[place].getTime() }] : [],
    ),
  };
}

/** A photo's plots with what each is compared with. */
export interface Pairing {
  readonly photo: PhotoState;
  /** Outlines that were found by lining up, or surveyed: not to be found again. */
  readonly trustGiven: boolean;
  /** One a baseline and check: its plots, outlined in both photos; the check is among them where both show it. */
  readonly groups: readonly PlotGroup[];
  /** Plots without a baseline: looked at by themselves. */
  readonly alone: readonly StateOutline[];
  /** Each outlined plot's baseline and the check it is compared with. */
  readonly beside: ReadonlyMap<string, { readonly baseline: Baseline; readonly check: StateOutline | null }>;
}

export interface PlotGroup {
  readonly baseline: PhotoState;
  readonly check: StateOutline | null;
  readonly plots: readonly PairedPlot[];
}

export interface PairedPlot {
  readonly before: StateOutline;
  readonly after: StateOutline;
  /** False for a check that is there to be compared with and has a group of its own elsewhere. */
  readonly own: boolean;
}

const counts = (outline: StateOutline): boolean => outline.accepted && outline.corners.length === 4;

/**
 * As many photos are looked through for a plot's baseline: a viewpoint rarely shows other plots from one photo to the
 * next.
 */
const LOOK_THROUGH = 20;

export interface Baseline {
  /** Null for the first photo of a viewpoint: nothing is earlier. */
  readonly photoId: string | null;
  /** Whether the photo lies after the first spray of the plot's series: else the change is since the first photo. */
  readonly sinceSpray: boolean;
  /** The photo lies before any spray and is itself what later ones are compared with. */
  readonly isBaseline: boolean;
}

/**
 * The baseline of every plot of some photos, defined here and nowhere else: the last photo of the viewpoint, with the
 * plot outlined, before the first spray of the plot's series (see seriesStarts); before any spray, the viewpoint's
 * first photo of it.
 * @returns for each photo: plot -> baseline
 */
async function baselinesOf(
  history: History,
  states: readonly PhotoState[],
): Promise<Map<string, Map<string, Baseline>>> {
  const asked = new Map<string, Promise<OutlinedPhoto[]>>();
  const outlined = (
    viewpointId: string,
    plotIds: readonly string[],
    beforeMs: number,
    order: 'nearest' | 'first',
  ): Promise<OutlinedPhoto[]> => {
    const key = `${viewpointId} ${order} ${order === 'first' ? '' : beforeMs} ${plotIds.join(' ')}`;
    const known =
      asked.get(key) ??
      outlinedPhotosBefore(
        viewpointId,
        plotIds,
        order === 'first' ? null : new Date(beforeMs),
        order,
        LOOK_THROUGH,
      ).then((rows) => (order === 'first' ? rows : rows.toReversed()));
    asked.set(key, known);
    return known;
  };
  const found = new Map<string, Map<string, Baseline>>();
  for (const state of states) {
    const own = new Map<string, Baseline>();
    found.set(state.id, own);
    if (state.viewpointId === null) continue;
    const at = state.takenAt.getTime();
    const shown = state.outlines.filter(counts).map((outline) => outline.plotId);
    for (const { plotId } of state.outlines.filter(counts)) {
      const check = checkOf(history, state, plotId);
      const starts = seriesStarts(
        history.afterPauseMs,
        history.trials.filter((trial) => trial.plotIds.includes(plotId)).map((trial) => trial.firstSprayMs),
      );
      for (let start = seriesAt(starts, at); start !== null && !own.has(plotId); start = seriesAt(starts, start - 1)) {
        const photoId = lastShowing(
          await outlined(state.viewpointId, shown, start, 'nearest'),
          plotId,
          check?.plotId ?? null,
        );
        if (photoId !== null && photoId !== state.id) own.set(plotId, { photoId, sinceSpray: true, isBaseline: false });
      }
      if (own.has(plotId)) continue;
      const next = starts.find((start) => start > at);
      const isBaseline =
        next !== undefined &&
        lastShowing(await outlined(state.viewpointId, shown, next, 'nearest'), plotId, check?.plotId ?? null) ===
          state.id;
      const first = (await outlined(state.viewpointId, shown, at, 'first')).find(
        (photo) => photo.plotIds.includes(plotId) && photo.id !== state.id && photo.takenAtMs < at,
      );
      own.set(plotId, { photoId: first?.id ?? null, sinceSpray: false, isBaseline });
    }
  }
  return found;
}

/**
 * The check a plot is compared with in a photo: one of its own trial, else one of no trial, else any; of several the
 * first by name. Null for a check that is the first choice itself, and where no check is outlined.
 */
function checkOf({ trials }: History, state: PhotoState, plotId: string): StateOutline | null {
  const trialsOf = (id: string) => trials.filter((trial) => trial.plotIds.includes(id));
  const own = trialsOf(plotId);
  const rank = (id: string) =>
    own.some((trial) => trial.plotIds.includes(id)) ? 0 : trialsOf(id).length === 0 ? 1 : 2;
  const checks = state.outlines.filter((outline) => counts(outline) && outline.isCheck && !outline.plotBinned);
  const [first] = checks.toSorted(
    (a, b) =>
      rank(a.plotId) - rank(b.plotId) || a.plotName.localeCompare(b.plotName) || a.plotId.localeCompare(b.plotId),
  );
  return first && first.plotId !== plotId ? first : null;
}

/** Pairs the plots of photos with their baselines. */
export async function pairsOf(history: History, states: readonly PhotoState[]): Promise<Map<string, Pairing>> {
  const baselines = await baselinesOf(history, states);
  const ids = new Set(
    [...baselines.values()].flatMap((own) => [...own.values()].flatMap((baseline) => baseline.photoId ?? [])),
  );
  const known = new Map(
    [...states, ...(await photoStates([...ids].filter((id) => !states.some((state) => state.id === id))))].map(
      (state) => [state.id, state],
    ),
  );
  return new Map(
    states.map((state) => [state.id, pairingOf(history, state, baselines.get(state.id) ?? new Map(), known)]),
  );
}

function pairingOf(
  history: History,
  photo: PhotoState,
  baselines: ReadonlyMap<string, Baseline>,
  known: ReadonlyMap<string, PhotoState>,
): Pairing {
  const mine = photo.outlines.filter(counts);
  const groups = new Map<string, { baseline: PhotoState; check: StateOutline | null; plots: PairedPlot[] }>();
  const alone: StateOutline[] = [];
  const inBaseline = (baseline: PhotoState | undefined, plotId: string) =>
    baseline?.outlines.find((outline) => outline.plotId === plotId && counts(outline));
  const byCheckLast = mine
    .map((after) => ({ after, check: checkOf(history, photo, after.plotId) }))
    .toSorted(
      (a, b) => Number(a.check === null) - Number(b.check === null) || a.after.plotId.localeCompare(b.after.plotId),
    );
  for (const { after, check } of byCheckLast) {
    const baseline = known.get(baselines.get(after.plotId)?.photoId ?? '');
    const before = inBaseline(baseline, after.plotId);
    if (!baseline || !before) {
      alone.push(after);
      continue;
    }
    // A check goes with the plots that are compared with it, where their baseline is its own.
    const key =
      [...groups.keys()].find((one) => check === null && one === `${baseline.id} ${after.plotId}`) ??
      `${baseline.id} ${check?.plotId ?? ''}`;
    const group = groups.get(key) ?? { baseline, check, plots: [] };
    groups.set(key, group);
    group.plots.push({ before, after, own: true });
  }
  for (const group of groups.values()) {
    const before = group.check ? inBaseline(group.baseline, group.check.plotId) : undefined;
    if (group.check && before && !group.plots.some((plot) => plot.after.plotId === group.check?.plotId))
      group.plots.push({ before, after: group.check, own: false });
    group.plots.sort((a, b) => a.after.plotId.localeCompare(b.after.plotId));
  }
  return {
    photo,
    trustGiven: mine.every(
      (outline) => outline.origin === 'lined-up' || outline.origin === 'cards' || outline.origin === 'surveyed',
    ),
    groups: [...groups.values()].sort(
      (a, b) =>
        a.baseline.sha256.localeCompare(b.baseline.sha256) ||
        (a.check?.plotId ?? '').localeCompare(b.check?.plotId ?? ''),
    ),
    alone,
    beside: new Map(
      mine.flatMap(({ plotId }) => {
        const baseline = baselines.get(plotId);
        return baseline ? [[plotId, { baseline, check: checkOf(history, photo, plotId) }] as const] : [];
      }),
    ),
  };
}
