import 'server-only';
import { diary } from './client';
import { inParts } from './in-parts';

const fields = {
  id: true,
  takenAt: true,
  cameraMake: true,
  cameraModel: true,
  mownSinceBaseline: true,
  cautions: true,
  comparisonCautions: true,
} as const;

/** What a photo's cautions hang on. */
export type PhotoFacts = Awaited<ReturnType<typeof photoFacts>>[number];

export async function photoFacts(ids: readonly string[]) {
  return inParts(ids, (part) => diary().photo.findMany({ where: { id: { in: part } }, select: fields }));
}

/**
 * The beginnings of the hours with rain or irrigation in a span, in order; as for every figure, the highest layer that
 * has it counts.
 */
export async function wetHoursBetween(lawnId: string, from: Date, to: Date): Promise<Date[]> {
  const hourStart = { gte: from, lt: to };
  const some = await diary().weatherHour.findMany({
    where: { lawnId, hourStart, rainMm: { gt: 0 } },
    distinct: ['hourStart'],
    select: { hourStart: true },
  });
  const rows = await inParts(
    some.map((row) => row.hourStart.toISOString()),
    (part) =>
      diary().weatherHour.findMany({
        where: { lawnId, hourStart: { in: part.map((at) => new Date(at)) }, rainMm: { not: null } },
        orderBy: { layer: 'asc' },
        select: { hourStart: true, rainMm: true },
      }),
  );
  const top = new Map(rows.map((row) => [row.hourStart.getTime(), row.rainMm ?? 0]));
  return [...top]
    .flatMap(([at, rainMm]) => (rainMm > 0 ? [at] : []))
    .sort((a, b) => a - b)
    .map((at) => new Date(at));
}
