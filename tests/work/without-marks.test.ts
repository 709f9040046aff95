import { randomBytes } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { listOutlines, replaceOutlines } from '@/lib/diary/outlines';
import { createPhoto } from '@/lib/diary/photos';
import { createPlot } from '@/lib/diary/plots';
import { saveReadings } from '@/lib/diary/readings';
import { measurePlots } from '@/lib/photo/measure/measure';
import type { Pixels, Polygon } from '@/lib/photo/raster/pixels';
import { differencesToCheck } from '@/lib/work/photos/differences';
import { figuresWithoutMarks } from '@/lib/work/photos/without-marks';
import { expectClose } from '../support/close';
import { plainLawn, useFreshDiary } from '../support/diary';
import { pictureOf } from '../support/pictures';

useFreshDiary();

const box = (x0: number, y0: number, x1: number, y1: number): Polygon => [
  [x0 - 0.5, y0 - 0.5],
  [x1 + 0.5, y0 - 0.5],
  [x1 + 0.5, y1 + 0.5],
  [x0 - 0.5, y1 + 0.5],
];
const SIZE = [100, 80] as const;
/** The check and a plot beside it, 40 by 80 pixels each: four by eight blocks of 10 by 10. */
const CHECK = box(0, 0, 39, 79);
const PLOT = box(50, 0, 89, 79);

/** Uneven turf; the patch's blocks as they are said. */
const turf = (patch: (x: number, y: number) => readonly [number, number, number] | null): Pixels =>
  pictureOf(...SIZE, (x, y) => patch(x, y) ?? [60 + ((x * 7 + y * 3) % 11), 110 + ((x + y * 5) % 7), x < 45 ? 45 : 35]);
const inPatch = (x: number, y: number) => x >= 50 && x < 70 && y >= 20 && y < 30;

async function photographed(pixels: Pixels) {
  const lawn = await plainLawn({ timeZone: 'UTC' });
  const plotNamed = (name: string, isCheck: boolean) =>
    createPlot(lawn.id, { name, isCheck, polygonM: null, areaM2: 10, note: '' });
  const [check, plot] = [await plotNamed('Check', true), await plotNamed('North', false)];
  const takenAt = new Date('2026-05-02T10:00Z');
  const photo = await createPhoto({
    lawnId: lawn.id,
    viewpointId: null,
    sha256: randomBytes(32).toString('hex'),
    kind: 'jpeg',
    fileName: 'photo.jpg',
    bytes: 1,
    widthPx: SIZE[0],
    heightPx: SIZE[1],
    takenAt,
    takenAtOffsetMin: 0,
    takenAtBasis: 'exif-offset',
    measureState: 'measured',
  });
  const outlined = [
    { id: check.id, polygon: CHECK },
    { id: plot.id, polygon: PLOT },
  ];
  await replaceOutlines(
    photo.id,
    outlined.map(({ id, polygon }) => ({ plotId: id, corners: polygon, origin: 'surveyed', accepted: true })),
  );
  await saveReadings(
    photo.id,
    measurePlots(pixels, outlined).map(
      ({ id, methodVersion, turfPixels, turfShare, greenness, blocks, ...reading }) => ({
        plotId: id,
        takenAt,
        methodVersion,
        parameters: {},
        pixels: reading.pixels,
        turfPixels,
        turfShare,
        dgci: greenness?.dgci ?? null,
        blocks: { across: blocks.grid.across, along: blocks.grid.along, sums: [...blocks.sums] },
      }),
    ),
    [],
  );
  return { photo, outlines: await listOutlines(photo.id), check: check.id, plot: plot.id };
}

describe('what one photo says of a plot without its marked patches', () => {
  test('is what it says where the blocks they touch hold no turf at all', async () => {
    const scorched = await photographed(turf((x, y) => (inPatch(x, y) ? [170, 175, 80] : null)));
    const bare = await photographed(turf((x, y) => (inPatch(x, y) ? [128, 128, 128] : null)));
    const of = async ({ photo, check, plot }: typeof bare) => (await differencesToCheck(photo.id, check)).get(plot)!;
    // A mark of a few pixels in each of the two blocks.
    const marks = [
      { plotId: scorched.plot, polygon: box(66, 22, 68, 25) },
      { plotId: scorched.plot, polygon: box(52, 22, 53, 23) },
    ];
    const figures = await figuresWithoutMarks(scorched.photo, scorched.outlines, marks, scorched.check);
    const difference = await of(bare);
    expect(Math.abs((await of(scorched)).difference - difference.difference)).toBeGreaterThan(0.005);
    expect([...figures.keys()]).toEqual([scorched.plot]);
    const without = figures.get(scorched.plot)!;
    expectClose('difference', without.difference?.value, difference.difference, 1e-9);
    expectClose('low', without.difference?.low95, difference.low95!, 1e-9);
    expectClose('high', without.difference?.high95, difference.high95!, 1e-9);
  });

  test('leaves out the check’s marks for each plot beside it, and says nothing where none is left', async () => {
    const { photo, outlines, check, plot } = await photographed(turf(() => null));
    const onCheck = await figuresWithoutMarks(photo, outlines, [{ plotId: check, polygon: box(0, 0, 9, 9) }], check);
    expect(onCheck.get(plot)?.difference).not.toBeNull();
    expect(onCheck.get(check)).toMatchObject({ difference: null });
    expect(onCheck.get(check)?.index?.value).toBeGreaterThan(0);
    const all = await figuresWithoutMarks(photo, outlines, [{ plotId: plot, polygon: PLOT }], check);
    expect([...all]).toEqual([[plot, { index: null, difference: null }]]);
    expect((await figuresWithoutMarks(photo, outlines, [], check)).size).toBe(0);
  });
});
