import 'server-only';
import { diary } from './client';

/**
 * Removes a lawn with everything on it, and those of the products named that nothing else uses.
 * @returns the photos that went, whose files are now nobody's
 */
export async function removeLawn(
  lawnId: string,
  productIds: readonly string[],
): Promise<{ sha256: string; kind: string }[]> {
  return diary().$transaction(async (tx) => {
    const photos = await tx.photo.findMany({ where: { lawnId }, select: { sha256: true, kind: true } });
    await tx.lawn.deleteMany({ where: { id: lawnId } });
    await tx.product.deleteMany({
      where: {
        id: { in: [...productIds] },
        sprayItems: { none: {} },
        treatmentItems: { none: {} },
        events: { none: {} },
      },
    });
    return photos;
  });
}
