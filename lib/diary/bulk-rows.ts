import 'server-only';
import { diary } from './client';

export interface BulkPhoto {
  readonly id: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly fileName: string;
  readonly takenAt: Date;
}

export interface BulkSpray {
  readonly id: string;
  readonly startedAt: Date;
  readonly productId: string;
  readonly plotIds: readonly string[];
  readonly areaM2: number;
  readonly isPlan?: boolean;
}

const chunk = 500;

async function inChunks<T>(rows: readonly T[], write: (rows: T[]) => Promise<unknown>): Promise<void> {
  for (let at = 0; at < rows.length; at += chunk) await write(rows.slice(at, at + chunk));
}

/** Copies a measured photo under new names and days, with its outlines and readings (blocks and all): a large diary to measure pages with. */
export async function copyPhotoRows(photoId: string, copies: readonly BulkPhoto[], shift: (copy: BulkPhoto, index: number) => number): Promise<void> {
  const photo = await diary().photo.findUniqueOrThrow({ where: { id: photoId }, include: { outlines: true, readings: true } });
  const { outlines, readings, cautions: _cautions, comparisonCautions: _comparison, greyCard: _card, chart: _chart, ...facts } = photo;
  await inChunks(copies, (part) => diary().photo.createMany({ data: part.map((copy) => ({ ...facts, ...copy })) }));
  await inChunks(copies, (part) =>
    diary().outline.createMany({
      data: part.flatMap((copy) => outlines.map(({ id: _id, corners, ...outline }) => ({ ...outline, corners: corners as object, photoId: copy.id }))),
    }),
  );
  let index = 0;
  await inChunks(copies, (part) =>
    diary().reading.createMany({
      data: part.flatMap((copy) => {
        const by = shift(copy, index++);
        return readings.map(({ id: _id, parameters, blocks, ...reading }) => ({
          ...reading,
          parameters: parameters as object,
          blocks: blocks as object,
          photoId: copy.id,
          takenAt: copy.takenAt,
          dgci: reading.dgci === null ? null : reading.dgci + by,
        }));
      }),
    }),
  );
}

/** Notes for many photos that what was copied to them rests on what they hold, with a change for each pair of plot and check given. */
export async function settlePhotoRows(
  photos: readonly { id: string; readingsKey: string; comparisonKey: string; changes: readonly { baselinePhotoId: string; plotId: string; checkPlotId: string; difference: number }[] }[],
): Promise<void> {
  await inChunks(photos, (part) =>
    diary().$transaction([
      diary().change.createMany({
        data: part.flatMap(({ id, changes }) =>
          changes.map((change) => {
            const [low, high] = [change.difference - 0.01, change.difference + 0.01];
            return { photoId: id, methodVersion: 'load', ...change, low95: low, high95: high, differenceWithoutMarks: change.difference, low95WithoutMarks: low, high95WithoutMarks: high };
          }),
        ),
      }),
      ...part.map(({ id, readingsKey, comparisonKey }) => diary().photo.update({ where: { id }, data: { readingsKey, comparisonKey } })),
    ]),
  );
}

/** Many sprays of one product each. */
export async function createSprayRows(lawnId: string, sprays: readonly BulkSpray[]): Promise<void> {
  await inChunks(sprays, (part) => diary().spray.createMany({ data: part.map(({ id, startedAt, isPlan }) => ({ id, lawnId, startedAt, state: isPlan === true ? 'planned' : 'done' })) }));
  await inChunks(sprays, (part) =>
    diary().sprayItem.createMany({
      data: part.map((spray) => ({ sprayId: spray.id, productId: spray.productId, mixingOrder: 0, rateEnteredValue: 100, rateEnteredUnit: 'g/100m2', rateKgPerHa: 10, actualKg: spray.areaM2 / 1000 })),
    }),
  );
  await inChunks(sprays, (part) => diary().sprayPlot.createMany({ data: part.flatMap((spray) => spray.plotIds.map((plotId) => ({ sprayId: spray.id, plotId, areaM2: spray.areaM2 }))) }));
}

/** Marks of one kind on some photos, each in a place of its own. */
export async function createMarkRows(marks: readonly { id: string; photoId: string; plotId: string; acrossShare: number; alongShare: number }[]): Promise<void> {
  const polygon = [[20, 30], [60, 30], [60, 80], [20, 80]];
  await inChunks(marks, (part) => diary().mark.createMany({ data: part.map((mark) => ({ ...mark, threadId: mark.id, kind: 'silver', score: 5, polygon, areaShare: 0.03 })) }));
}

/** Mowings of the whole lawn. */
export async function createMowingRows(lawnId: string, moments: readonly Date[]): Promise<void> {
  await inChunks(moments, (part) => diary().lawnEvent.createMany({ data: part.map((at) => ({ lawnId, kind: 'mowing', at, mowingHeightMm: 30 })) }));
}

/** Lets SQLite look at the tables, so that it picks indexes by what is in them. */
export async function analyseTables(): Promise<void> {
  await diary().$executeRawUnsafe('ANALYZE');
}

/** A dry product with a name and nothing else known, for commands that only need one. @returns its id */
export async function createBareProduct(name: string): Promise<string> {
  return (await diary().product.create({ data: { name, form: 'dry' }, select: { id: true } })).id;
}
