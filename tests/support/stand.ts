import { replaceChanges } from '@/lib/diary/changes';
import { diary } from '@/lib/diary/client';
import { photoIdsInOrder } from '@/lib/diary/worked-out';
import { standOf } from '@/lib/work/photos/stand-of';

/**
 * Makes the readings of a lawn's photos hold though no file lies behind them: changes come from the indexes written
 * down, and both carry the fingerprint of what they rest on. Marks stay as a test made them.
 */
export async function standAsRead(lawnId: string): Promise<void> {
  const readings = await diary().reading.findMany({
    where: { photo: { lawnId } },
    select: { photoId: true, plotId: true, dgci: true },
  });
  const indexOf = (photoId: string, plotId: string) =>
    readings.find((reading) => reading.photoId === photoId && reading.plotId === plotId)?.dgci ?? null;
  for (const { state, pairing, wanted } of (await standOf(lawnId, await photoIdsInOrder(lawnId))).values()) {
    await replaceChanges(
      state.id,
      pairing.groups.flatMap(({ baseline, check, plots }) =>
        plots.flatMap(({ after }) => {
          if (!check || after.plotId === check.plotId) return [];
          const four = [
            indexOf(state.id, after.plotId),
            indexOf(baseline.id, after.plotId),
            indexOf(state.id, check.plotId),
            indexOf(baseline.id, check.plotId),
          ];
          if (four.some((index) => index === null)) return [];
          const [own, ownBefore, other, otherBefore] = four as [number, number, number, number];
          const difference = own - ownBefore - (other - otherBefore);
          const figures = { difference, low95: difference - 0.01, high95: difference + 0.01 };
          return [
            {
              baselinePhotoId: baseline.id,
              plotId: after.plotId,
              checkPlotId: check.plotId,
              methodVersion: 'by hand',
              ...figures,
              differenceWithoutMarks: difference,
              low95WithoutMarks: figures.low95,
              high95WithoutMarks: figures.high95,
            },
          ];
        }),
      ),
    );
    await diary().photo.update({
      where: { id: state.id },
      data: { readingsKey: wanted.readings, comparisonKey: wanted.comparison, outlinesKey: 'person' },
    });
  }
}
