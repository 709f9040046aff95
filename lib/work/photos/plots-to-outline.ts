import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { plotsOutlinedFrom } from '@/lib/diary/outlines';
import type { Photo } from '@/lib/diary/photos';
import { listPlots, type PlanPoint } from '@/lib/diary/plots';
import { listTrials, type Trial } from '@/lib/diary/trials';

export interface PlotChoice {
  id: string;
  name: string;
  isCheck: boolean;
}

/** A trial that four corner stakes outline whole, by its strip map. */
export interface TrialChoice {
  id: string;
  name: string;
  /** Far left, far right, near right, near left of the map, metres. */
  rectangleM: PlanPoint[];
  strips: { plotId: string; label: string; cornersM: PlanPoint[] }[];
}

export interface PlotsToOutline {
  /** What this photo most probably shows, the likeliest first. */
  likely: PlotChoice[];
  /** Everything else of the lawn. */
  more: { title: string; plots: PlotChoice[] }[];
  trials: TrialChoice[];
}

/** A trial is photographed from about so long before its first day to so long after its last. */
const MARGIN_DAYS = 21;
/** A lawn with so few plots has them all at hand. */
const FEW = 6;

/**
 * Which plots to offer for outlining in a photo: those outlined in it or from its viewpoint, nearest in time first;
 * then the strips of trials that run then; where the viewpoint tells nothing yet, what the spray before it covered and
 * the lawn's check.
 */
export async function plotsToOutline(
  photo: Photo,
  outlinedHere: readonly string[],
  sprayedBefore: readonly string[],
): Promise<PlotsToOutline> {
  const [all, trials, fromHere] = await Promise.all([
    listPlots(photo.lawnId),
    listTrials(photo.lawnId),
    photo.viewpointId ? plotsOutlinedFrom(photo.viewpointId, photo.takenAt, photo.id) : [],
  ]);
  const running = trials.filter((trial) => runsAt(trial, photo.takenAt));
  const likelyIds = new Set([...outlinedHere, ...fromHere]);
  // A trial that began since the viewpoint's last photo comes after what is known to be seen from here.
  const known = likelyIds.size > 0;
  for (const trial of running) for (const strip of trial.layout.strips) likelyIds.add(strip.plotId);
  if (!known) {
    for (const plotId of sprayedBefore) likelyIds.add(plotId);
    const inTrials = new Set(trials.flatMap((trial) => trial.plots.map((plot) => plot.plotId)));
    if (running.length === 0)
      for (const plot of all) if (plot.isCheck && !inTrials.has(plot.id)) likelyIds.add(plot.id);
  }
  if (all.length <= FEW) for (const plot of all) likelyIds.add(plot.id);
  const choice = ({ id, name, isCheck }: PlotChoice): PlotChoice => ({ id, name, isCheck });
  const byId = new Map(all.map((plot) => [plot.id, choice(plot)]));
  const likely = [...likelyIds].flatMap((id) => byId.get(id) ?? []);
  const rest = all.filter((plot) => !likelyIds.has(plot.id)).map(choice);
  const ofTrial = (trial: Trial) => rest.filter((plot) => trial.plots.some((strip) => strip.plotId === plot.id));
  const more = [
    {
      title: 'Plots of the lawn',
      plots: rest.filter((plot) => !trials.some((trial) => trial.plots.some((strip) => strip.plotId === plot.id))),
    },
    ...trials.map((trial) => ({ title: trial.name, plots: ofTrial(trial) })),
  ].filter((group) => group.plots.length > 0);
  const offered = trials.filter(
    (trial) =>
      trial.layout.strips.length > 1 &&
      (running.includes(trial) || trial.layout.strips.some((strip) => likelyIds.has(strip.plotId))),
  );
  return { likely, more, trials: offered.map(stakesOf) };
}

function runsAt(trial: Trial, at: Date): boolean {
  const first = Date.parse(`${trial.startsOn}T12:00:00Z`);
  const last = first + Math.max(0, ...trial.photoDays) * DAY_MS;
  return at.getTime() >= first - MARGIN_DAYS * DAY_MS && at.getTime() <= last + MARGIN_DAYS * DAY_MS;
}

function stakesOf({ id, name, layout }: Trial): TrialChoice {
  const { widthM, lengthM } = layout;
  return {
    id,
    name,
    rectangleM: [
      [0, lengthM],
      [widthM, lengthM],
      [widthM, 0],
      [0, 0],
    ],
    strips: layout.strips.map(({ plotId, label, cornersM }) => ({ plotId, label, cornersM })),
  };
}
