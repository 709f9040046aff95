import 'server-only';
import { listPlotGrounds, listPlots } from '@/lib/diary/plots';
import { listSprays } from '@/lib/diary/sprays';

/**
 * The plots to offer ticked for the next spray: those of the last one that wasn't a trial's, as far as they are still
 * there; of a lawn never sprayed its only plot beside the check, else none: which ground is sprayed is for a person to
 * say.
 */
export async function usualPlots(lawnId: string): Promise<string[]> {
  const [plots, grounds, sprays] = await Promise.all([
    listPlots(lawnId),
    listPlotGrounds(lawnId),
    listSprays(lawnId, { limit: 30 }),
  ]);
  const ofTrial = new Set(grounds.filter((plot) => plot.trialId !== null).map((plot) => plot.id));
  const own = plots.filter((plot) => !plot.isCheck && !ofTrial.has(plot.id)).map((plot) => plot.id);
  const last = sprays.find((spray) => spray.plots.some((covered) => own.includes(covered.plotId)));
  if (last) return last.plots.map((covered) => covered.plotId).filter((id) => own.includes(id));
  return own.length === 1 ? own : [];
}
