import 'server-only';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { Prisma, PrismaClient } from '@prisma/client';
import { diary, openServer } from './client';
import { instant, rowsOfJson, storedInstant } from './sql';
import { diaryTables } from './tables';

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

/** Columns of a table, those named taken from elsewhere, the others from the row that is copied (called "r"). */
function columnsOf(
  fields: Readonly<Record<string, string>>,
  instead: Readonly<Record<string, Prisma.Sql>>,
): { names: Prisma.Sql; values: Prisma.Sql } {
  const names = Object.keys(fields);
  return {
    names: Prisma.raw(names.map((name) => `"${name}"`).join(', ')),
    values: Prisma.join(names.map((name) => instead[name] ?? Prisma.raw(`r."${name}"`))),
  };
}

/**
 * Copies a measured photo under new names and days, with its outlines and readings (blocks and all): a large diary to
 * measure pages with.
 */
export async function copyPhotoRows(
  photoId: string,
  copies: readonly BulkPhoto[],
  shift: (copy: BulkPhoto, index: number) => number,
): Promise<void> {
  let index = 0;
  await inChunks(copies, async (part) => {
    const { rows, cell } = rowsOfJson(
      JSON.stringify(
        part.map((copy) => [
          copy.id,
          copy.sha256,
          copy.bytes,
          copy.fileName,
          storedInstant(copy.takenAt),
          shift(copy, index++),
        ]),
      ),
    );
    const [id, takenAt] = [cell(0, 'text'), cell(4, 'instant')];
    const photos = columnsOf(Prisma.PhotoScalarFieldEnum, {
      id,
      sha256: cell(1, 'text'),
      bytes: Prisma.sql`CAST(${cell(2, 'number')} AS INTEGER)`,
      fileName: cell(3, 'text'),
      takenAt,
    });
    // Within the length that identifiers may have; what tells plots apart stands at the end of theirs.
    const ofPlot = { id: Prisma.sql`${id} || substr(r."plotId", 8)`, photoId: id };
    const outlines = columnsOf(Prisma.OutlineScalarFieldEnum, ofPlot);
    const readings = columnsOf(Prisma.ReadingScalarFieldEnum, {
      ...ofPlot,
      takenAt,
      dgci: Prisma.sql`r."dgci" + ${cell(5, 'number')}`,
    });
    await diary().$transaction([
      diary()
        .$executeRaw`INSERT INTO "Photo" (${photos.names}) SELECT ${photos.values} FROM ${rows}, "Photo" r WHERE r."id" = ${photoId}`,
      diary()
        .$executeRaw`INSERT INTO "Outline" (${outlines.names}) SELECT ${outlines.values} FROM ${rows}, "Outline" r WHERE r."photoId" = ${photoId}`,
      diary()
        .$executeRaw`INSERT INTO "Reading" (${readings.names}) SELECT ${readings.values} FROM ${rows}, "Reading" r WHERE r."photoId" = ${photoId}`,
    ]);
  });
}

/**
 * Notes for many photos that what was copied to them rests on what they hold, with a change for each pair of plot and
 * check given.
 */
export async function settlePhotoRows(
  photos: readonly {
    id: string;
    readingsKey: string;
    comparisonKey: string;
    changes: readonly { baselinePhotoId: string; plotId: string; checkPlotId: string; difference: number }[];
  }[],
): Promise<void> {
  await inChunks(photos, (part) => {
    const { rows, cell } = rowsOfJson(
      JSON.stringify(part.map((photo) => [photo.id, photo.readingsKey, photo.comparisonKey])),
    );
    return diary().$transaction([
      diary().change.createMany({
        data: part.flatMap(({ id, changes }) =>
          changes.map((change) => {
            const [low, high] = [change.difference - 0.01, change.difference + 0.01];
            return {
              photoId: id,
              methodVersion: 'load',
              ...change,
              low95: low,
              high95: high,
              differenceWithoutMarks: change.difference,
              low95WithoutMarks: low,
              high95WithoutMarks: high,
            };
          }),
        ),
      }),
      diary().$executeRaw`
        UPDATE "Photo" SET "readingsKey" = k."readings", "comparisonKey" = k."comparison"
        FROM (SELECT ${cell(0, 'text')} AS "photo", ${cell(1, 'text')} AS "readings", ${cell(2, 'text')} AS "comparison" FROM ${rows}) AS k WHERE "Photo"."id" = k."photo"`,
    ]);
  });
}

/** Many sprays of one product each. */
export async function createSprayRows(lawnId: string, sprays: readonly BulkSpray[]): Promise<void> {
  await inChunks(sprays, (part) =>
    diary().spray.createMany({
      data: part.map(({ id, startedAt, isPlan }) => ({
        id,
        lawnId,
        startedAt,
        state: isPlan === true ? 'planned' : 'done',
      })),
    }),
  );
  await inChunks(sprays, (part) =>
    diary().sprayItem.createMany({
      data: part.map((spray) => ({
        sprayId: spray.id,
        productId: spray.productId,
        mixingOrder: 0,
        rateEnteredValue: 100,
        rateEnteredUnit: 'g/100m2',
        rateKgPerHa: 10,
        actualKg: spray.areaM2 / 1000,
      })),
    }),
  );
  await inChunks(sprays, (part) =>
    diary().sprayPlot.createMany({
      data: part.flatMap((spray) =>
        spray.plotIds.map((plotId) => ({ sprayId: spray.id, plotId, areaM2: spray.areaM2 })),
      ),
    }),
  );
}

/** Marks of one kind on some photos, each in a place of its own. */
export async function createMarkRows(
  marks: readonly { id: string; photoId: string; plotId: string; acrossShare: number; alongShare: number }[],
): Promise<void> {
  const polygon = [
    [20, 30],
    [60, 30],
    [60, 80],
    [20, 80],
  ];
  await inChunks(marks, (part) =>
    diary().mark.createMany({
      data: part.map((mark) => ({ ...mark, threadId: mark.id, kind: 'silver', score: 5, polygon, areaShare: 0.03 })),
    }),
  );
}

/** Mowings of the whole lawn. */
export async function createMowingRows(lawnId: string, moments: readonly Date[]): Promise<void> {
  await inChunks(moments, (part) =>
    diary().lawnEvent.createMany({ data: part.map((at) => ({ lawnId, kind: 'mowing', at, mowingHeightMm: 30 })) }),
  );
}

/**
 * Gives a diary more lawns: each with the plots and viewpoints of one that is there and a stretch of its photos and
 * sprays, with outlines, readings and changes, under other names. (Nobody looks at them: their pictures have no files.)
 */
export async function copyLawnRows(
  lawnId: string,
  lawns: number,
  stretchOf: (lawn: number) => { photos: readonly [string, string]; sprays: readonly [string, string] },
): Promise<void> {
  for (let lawn = 1; lawn <= lawns; lawn++) {
    const { photos, sprays } = stretchOf(lawn);
    const prefix = `l${String(lawn).padStart(3, '0')}`;
    const own = (column: string): Prisma.Sql => Prisma.sql`${prefix} || substr(r."${Prisma.raw(column)}", 5)`;
    const ownAll = (...columns: string[]) => Object.fromEntries(columns.map((column) => [column, own(column)]));
    const photoStretch = Prisma.sql`BETWEEN ${photos[0]} AND ${photos[1]}`;
    const sprayStretch = Prisma.sql`BETWEEN ${sprays[0]} AND ${sprays[1]}`;
    const none = Prisma.sql`NULL`;
    const copies: [string, Readonly<Record<string, string>>, Record<string, Prisma.Sql>, Prisma.Sql][] = [
      [
        'Lawn',
        Prisma.LawnScalarFieldEnum,
        { ...ownAll('id'), name: Prisma.sql`${`Lawn ${lawn}`}`, createdAt: instant(new Date()) },
        Prisma.sql`r."id" = ${lawnId}`,
      ],
      ['Plot', Prisma.PlotScalarFieldEnum, ownAll('id', 'lawnId'), Prisma.sql`r."lawnId" = ${lawnId}`],
      [
        'Viewpoint',
        Prisma.ViewpointScalarFieldEnum,
        { ...ownAll('id', 'lawnId'), referencePhotoId: none },
        Prisma.sql`r."lawnId" = ${lawnId}`,
      ],
      [
        'Photo',
        Prisma.PhotoScalarFieldEnum,
        { ...ownAll('id', 'lawnId', 'viewpointId', 'sha256'), followsSprayId: none },
        Prisma.sql`r."id" ${photoStretch}`,
      ],
      [
        'Outline',
        Prisma.OutlineScalarFieldEnum,
        ownAll('id', 'photoId', 'plotId'),
        Prisma.sql`r."photoId" ${photoStretch}`,
      ],
      [
        'Reading',
        Prisma.ReadingScalarFieldEnum,
        ownAll('id', 'photoId', 'plotId'),
        Prisma.sql`r."photoId" ${photoStretch}`,
      ],
      [
        'Change',
        Prisma.ChangeScalarFieldEnum,
        ownAll('id', 'photoId', 'plotId', 'checkPlotId'),
        Prisma.sql`r."photoId" ${photoStretch}`,
      ],
      ['Spray', Prisma.SprayScalarFieldEnum, ownAll('id', 'lawnId'), Prisma.sql`r."id" ${sprayStretch}`],
      ['SprayItem', Prisma.SprayItemScalarFieldEnum, ownAll('id', 'sprayId'), Prisma.sql`r."sprayId" ${sprayStretch}`],
      [
        'SprayPlot',
        Prisma.SprayPlotScalarFieldEnum,
        ownAll('sprayId', 'plotId'),
        Prisma.sql`r."sprayId" ${sprayStretch}`,
      ],
    ];
    await diary().$transaction(
      copies.map(([table, fields, instead, where]) => {
        const { names, values } = columnsOf(fields, instead);
        const name = Prisma.raw(`"${table}"`);
        return diary().$executeRaw`INSERT INTO ${name} (${names}) SELECT ${values} FROM ${name} r WHERE ${where}`;
      }),
    );
  }
}

/** Whether a diary on PostgreSQL has a lawn. */
export async function holdsLawns(url: string): Promise<boolean> {
  const server = openServer(url);
  return server.lawn
    .count()
    .then((count) => count > 0)
    .finally(() => server.$disconnect());
}

/** Rows that go from file to server as one JSON text. */
const AT_ONCE = 2000;

/**
 * Fills an empty, migrated diary on PostgreSQL with the rows of a SQLite file, quickly: for measuring, since the last
 * digits of numbers may change on the way.
 */
export async function fillServerFromFile(file: string, url: string, progress: (words: string) => void): Promise<void> {
  const source = new PrismaClient({ adapter: new PrismaBetterSqlite3({ url: `file:${file}` }) });
  const server = openServer(url);
  try {
    for (const { name, json } of diaryTables()) {
      const table = Prisma.raw(`"${name}"`);
      const columns = (await source.$queryRaw<{ name: string }[]>`SELECT name FROM pragma_table_info(${name})`).map(
        (column) => column.name,
      );
      const named = columns.map((column) => `"${column}"`);
      const pairs = Prisma.raw(
        columns
          .map((column) => `'${column}', ${json.includes(column) ? `json("${column}")` : `"${column}"`}`)
          .join(', '),
      );
      let rows = 0;
      for (let last = 0; ;) {
        const [part] = await source.$queryRaw<{ json: string; last: number | bigint | null; count: number | bigint }[]>`
          SELECT json_group_array(json_object(${pairs})) AS "json", max("row at") AS "last", count(*) AS "count"
          FROM (SELECT rowid AS "row at", * FROM ${table} WHERE rowid > ${last} ORDER BY rowid LIMIT ${AT_ONCE})`;
        if (!part || Number(part.count) === 0) break;
        last = Number(part.last);
        rows += Number(part.count);
        const into = Prisma.raw(named.join(', '));
        await server.$executeRaw`INSERT INTO ${table} (${into}) SELECT ${into} FROM json_populate_recordset(NULL::${table}, ${part.json}::json)`;
      }
      if (rows > 10_000) progress(`${rows} rows of ${name}`);
    }
    await server.$executeRawUnsafe('VACUUM ANALYZE');
  } finally {
    await Promise.all([source.$disconnect(), server.$disconnect()]);
  }
}

/** Lets SQLite look at the tables, so that it picks indexes by what is in them. */
export async function analyseTables(): Promise<void> {
  await diary().$executeRawUnsafe('ANALYZE');
}

/** A dry product with a name and nothing else known, for commands that only need one. @returns its id */
export async function createBareProduct(name: string): Promise<string> {
  return (await diary().product.create({ data: { name, form: 'dry' }, select: { id: true } })).id;
}

/** Has every photo of some lawns read anew. */
export async function forgetReadings(lawnIds: readonly string[]): Promise<void> {
  await diary().photo.updateMany({
    where: { lawnId: { in: [...lawnIds] } },
    data: { readingsKey: null, comparisonKey: null, measureState: 'waiting' },
  });
}

/** How many photos of some lawns have been read since. */
export async function countRead(lawnIds: readonly string[]): Promise<number> {
  return diary().photo.count({
    where: {
      lawnId: { in: [...lawnIds] },
      measureState: 'measured',
      readingsKey: { not: null },
      comparisonKey: { not: null },
    },
  });
}
