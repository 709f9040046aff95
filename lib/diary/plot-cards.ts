import 'server-only';
import { diary } from './client';

/** A plot card pegged on a lawn: the middle of its code lies over the peg, metres on the lawn's plan. */
export interface PlotCard {
  id: string;
  trialId: string | null;
  number: number;
  place: string;
  xM: number;
  yM: number;
}

const fields = { id: true, trialId: true, number: true, place: true, xM: true, yM: true } as const;

/** The cards in use on a lawn, by number. */
export async function listPlotCards(lawnId: string): Promise<PlotCard[]> {
  return diary().plotCard.findMany({ where: { lawnId, deletedAt: null }, orderBy: { number: 'asc' }, select: fields });
}

/**
 * Puts cards of these numbers at these places, in the stead of those the trial (or, without one, the lawn's own plots)
 * had. A number may lie at one place of a lawn only: null when another of the lawn's cards has one of them.
 */
export async function replacePlotCards(
  lawnId: string,
  trialId: string | null,
  cards: readonly Omit<PlotCard, 'id' | 'trialId'>[],
): Promise<PlotCard[] | null> {
  return diary().$transaction(async (tx) => {
    const others = await tx.plotCard.count({
      where: { lawnId, deletedAt: null, NOT: { trialId }, number: { in: cards.map((card) => card.number) } },
    });
    if (others > 0) return null;
    await tx.plotCard.updateMany({ where: { lawnId, trialId, deletedAt: null }, data: { deletedAt: new Date() } });
    for (const card of cards) await tx.plotCard.create({ data: { ...card, lawnId, trialId } });
    return tx.plotCard.findMany({
      where: { lawnId, trialId, deletedAt: null },
      orderBy: { number: 'asc' },
      select: fields,
    });
  });
}
