import 'server-only';
import { diary } from './client';

/** What is there already of what a first answer needs. */
export interface StepsTaken {
  checkPlot: boolean;
  sprayedPlot: boolean;
  product: boolean;
  outlinedPhoto: boolean;
  spray: boolean;
  /** A photo taken after the first spray that was done, with plots outlined. */
  photoAfter: boolean;
}

/** Looks whether there is one of each; never counts. */
export async function stepsTaken(lawnId: string): Promise<StepsTaken> {
  const ofLawn = { lawnId, deletedAt: null };
  const id = { id: true } as const;
  const [check, plot, product, outlined, spray] = await Promise.all([
    diary().plot.findFirst({ where: { ...ofLawn, isCheck: true }, select: id }),
    diary().plot.findFirst({ where: { ...ofLawn, isCheck: false }, select: id }),
    diary().product.findFirst({ where: { deletedAt: null }, select: id }),
    diary().photo.findFirst({ where: { ...ofLawn, outlines: { some: { accepted: true } } }, select: id }),
    diary().spray.findFirst({
      where: { ...ofLawn, state: 'done' },
      orderBy: { startedAt: 'asc' },
      select: { startedAt: true },
    }),
  ]);
  const after = spray
    ? await diary().photo.findFirst({
        where: { ...ofLawn, takenAt: { gt: spray.startedAt }, outlines: { some: { accepted: true } } },
        select: id,
      })
    : null;
  return {
    checkPlot: check !== null,
    sprayedPlot: plot !== null,
    product: product !== null,
    outlinedPhoto: outlined !== null,
    spray: spray !== null,
    photoAfter: after !== null,
  };
}
