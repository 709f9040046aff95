import 'server-only';
import { listPlotCards, replacePlotCards, type PlotCard } from '@/lib/diary/plot-cards';
import { listPlots } from '@/lib/diary/plots';
import { findTrial } from '@/lib/diary/trials';
import { CARD_COUNT } from '@/lib/photo/ground/card-code';
import type { GroundPlan } from './find-plots-by-cards';

type Place = readonly [xM: number, yM: number];

const PLACES = ['near left', 'near right', 'far right', 'far left'] as const;

/** Plots whose shape on the ground is known: a trial's, or without one all of the lawn's. */
async function placedPlots(
  lawnId: string,
  trialId: string | null,
): Promise<{ id: string; polygonM: readonly Place[] }[]> {
  const trial = trialId === null ? null : await findTrial(trialId);
  const wanted = trial && new Set(trial.plots.map((plot) => plot.plotId));
  return (await listPlots(lawnId)).flatMap((plot) =>
    plot.polygonM && (!wanted || wanted.has(plot.id)) ? [{ id: plot.id, polygonM: plot.polygonM }] : [],
  );
}

/**
 * Pegs four cards at the corners of a trial, or of all the lawn's plots, `outsideM` further out along both edges, with
 * the lowest numbers the lawn has free. The cards they had before are put away.
 */
export async function pegCards(
  lawnId: string,
  trialId: string | null,
  outsideM: number,
): Promise<{ ok: boolean; message: string }> {
  const plots = await placedPlots(lawnId, trialId);
  if (plots.length === 0)
    return {
      ok: false,
      message:
        'Plot cards: expected at least one plot whose shape on the ground is known, got none. Lay out a trial, or give the plots their corners under Lawn.',
    };
  const xs = plots.flatMap((plot) => plot.polygonM.map((p) => p[0]));
  const ys = plots.flatMap((plot) => plot.polygonM.map((p) => p[1]));
  const [left, right, near, far] = [
    Math.min(...xs) - outsideM,
    Math.max(...xs) + outsideM,
    Math.min(...ys) - outsideM,
    Math.max(...ys) + outsideM,
  ];
  const corners: readonly Place[] = [
    [left, near],
    [right, near],
    [right, far],
    [left, far],
  ];
  const taken = new Set(
    (await listPlotCards(lawnId)).filter((card) => card.trialId !== trialId).map((card) => card.number),
  );
  const free = Array.from({ length: CARD_COUNT }, (_, k) => k + 1)
    .filter((number) => !taken.has(number))
    .slice(0, corners.length);
  if (free.length < corners.length)
    return {
      ok: false,
      message: `Plot cards: expected four numbers of ${CARD_COUNT} free on this lawn, got ${free.length}. Put some cards away first.`,
    };
  const kept = await replacePlotCards(
    lawnId,
    trialId,
    corners.map(([xM, yM], k) => ({ number: free[k]!, place: PLACES[k]!, xM, yM })),
  );
  if (!kept)
    return { ok: false, message: 'Plot cards: expected free numbers, got some that were taken meanwhile. Try again.' };
  return { ok: true, message: `Cards ${free.join(', ')} belong to these corners now.` };
}

/** Puts the cards of a trial, or of the lawn's own plots, away: photos no longer look for them. */
export async function putCardsAway(lawnId: string, trialId: string | null): Promise<void> {
  await replacePlotCards(lawnId, trialId, []);
}

/**
 * Cards of a trial or of the lawn's own plots, each with its distance from the near-left peg (metres, right and away).
 */
export async function cardsToPeg(
  lawnId: string,
  trialId: string | null,
): Promise<readonly (PlotCard & { rightM: number; awayM: number })[]> {
  const cards = (await listPlotCards(lawnId)).filter((card) => card.trialId === trialId);
  const [x0, y0] = [Math.min(...cards.map((card) => card.xM)), Math.min(...cards.map((card) => card.yM))];
  return cards.map((card) => ({ ...card, rightM: card.xM - x0, awayM: card.yM - y0 }));
}

/**
 * What a new photo of the lawn is looked at with: all its cards, and the plots that may lie among them. Null without
 * cards.
 */
export async function groundPlanOf(lawnId: string): Promise<GroundPlan | null> {
  const cards = await listPlotCards(lawnId);
  if (cards.length === 0) return null;
  const trials = [...new Set(cards.map((card) => card.trialId))];
  const plots = new Map<string, readonly Place[]>();
  for (const trialId of trials)
    for (const plot of await placedPlots(lawnId, trialId))
      if (plot.polygonM.length === 4) plots.set(plot.id, plot.polygonM);
  return {
    cards: cards.map((card) => ({ number: card.number, placeM: [card.xM, card.yM] as const })),
    plots: [...plots].map(([id, polygonM]) => ({ id, polygonM })),
  };
}
