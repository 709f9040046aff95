import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import sharp from 'sharp';
import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { pictureOf } from '../support/pictures';

const ROOT = path.join(import.meta.dirname, '..', '..');
let folder: string;
let photo: string;
let outlines: string;

/** Runs the command as `npm run -s measure` does. */
function measure(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  const command = [path.join('lib', 'commands', 'run.mjs'), 'measure', ...args];
  return new Promise((resolve) => {
    execFile(process.execPath, command, { cwd: ROOT }, (error, out, err) => {
      resolve({ code: error === null ? 0 : Number(error.code), out, err });
    });
  });
}

const strip = (from: number): number[][] => [
  [from, 5],
  [from + 80, 5],
  [from + 80, 95],
  [from, 95],
];

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'measure-'));
  photo = path.join(folder, 'strips.png');
  outlines = path.join(folder, 'outlines.json');
  // Left half hue 100, right half hue 75, as in the worked DGCI cases: 0.55817 and 0.37652.
  const picture = pictureOf(200, 100, (x) => (x < 100 ? [60, 100, 40] : [120, 140, 60]));
  await sharp(picture.data, { raw: { width: 200, height: 100, channels: 3 } })
    .png()
    .toFile(photo);
  await writeFile(
    outlines,
    JSON.stringify({
      plots: [
        { id: 'A', check: true, corners: strip(10) },
        { id: 'B', corners: strip(110) },
      ],
    }),
  );
});
afterAll(() => rm(folder, { recursive: true, force: true }));

describe('measure', () => {
  test('prints one object for one photo, with the worked values', async () => {
    const { code, out, err } = await measure(photo, '--outlines', outlines, '--json');
    expect([code, err]).toEqual([0, '']);
    const reading = JSON.parse(out);
    expect(Object.keys(reading)).toEqual(['photo', 'takenAt', 'size', 'correction', 'cautions', 'plots', 'method']);
    expect(reading).toMatchObject({ photo, takenAt: null, size: { width: 200, height: 100 }, correction: 'none' });
    expect(reading.plots.map(({ id }: { id: string }) => id)).toEqual(['A', 'B']);
    const [a, b] = reading.plots;
    expect(Object.keys(a)).toEqual([
      'id',
      'inPicture',
      'pixels',
      'turfShare',
      'hue',
      'saturation',
      'brightness',
      'dgci',
      'extrapolated',
      'dgciPixelMean',
      'dgciPixelSd',
      'ci95',
      'lab',
      'ngrdi',
      'gli',
      'exg',
      'vari',
    ]);
    expect(a.dgci).toBeCloseTo(0.55817, 5);
    expect(b.dgci).toBeCloseTo(0.37652, 5);
    expect([a.pixels, a.turfShare]).toEqual([80 * 90, 1]);
    expect(a.hue).toBeCloseTo(100, 4);
    expect(a.vari).toBeCloseTo(1 / 3, 9);
  });

  test('without outlines takes the whole photo as one plot', async () => {
    const { plots } = JSON.parse((await measure(photo, '--json')).out);
    expect(plots).toHaveLength(1);
    expect(plots[0].pixels).toBe(200 * 100);
    expect(plots[0].dgci).toBeCloseTo((0.55817 + 0.37652) / 2, 5);
  });

  test('finishes the others when one fails, says which, and ends with 1', async () => {
    const wrong = path.join(folder, 'wrong.jpg');
    await writeFile(wrong, 'this is text');
    const { code, out, err } = await measure(wrong, photo, '--json');
    expect(code).toBe(1);
    expect(err).toBe(`${wrong}: Expected a photo (JPEG, PNG, WebP, TIFF, AVIF or HEIC), got text.\n`);
    const [failed, fine] = JSON.parse(out);
    expect(failed).toEqual({
      photo: wrong,
      error: 'Expected a photo (JPEG, PNG, WebP, TIFF, AVIF or HEIC), got text.',
    });
    expect(fine.plots).toHaveLength(1);
  });

  test('writes CSV that a CSV reader reads back', async () => {
    const rows = parse((await measure(photo, '--outlines', outlines, '--csv')).out, { columns: true }) as Record<
      string,
      string
    >[];
    expect(rows.map(({ plot }) => plot)).toEqual(['A', 'B']);
    expect(Number(rows[0]?.['dgci'])).toBeCloseTo(0.55817, 5);
    expect(rows[0]?.['takenAt']).toBe('');
  });

  // prettier-ignore
  test.each([
    ['no photo', [], /Expected at least one photo, got none/],
    ['an unknown option', ['--fast', 'x.jpg'], /Unknown option '--fast'/],
    ['both outputs', ['x.jpg', '--json', '--csv'], /Expected --json or --csv, got both/],
    ['outlines that aren’t there', ['x.jpg', '--outlines', '/nowhere.json'], /Expected an outlines file at '\/nowhere.json'/],
  ])('called with %s says what was expected and ends with 2', async (_, args, words) => {
    const { code, out, err } = await measure(...args);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(words);
  });
});
