import { execFile } from 'node:child_process';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { drawnLawn, paintMark, paintRectangle, photograph, random, rectangle, slowField } from '../photo/turf-scene';

const root = path.resolve(import.meta.dirname, '../..');
let folder: string;

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'compare-'));
  const r = random('command');
  const slow = slowField(520, 420, r);
  const before = drawnLawn(520, 420, r, slow);
  const after = drawnLawn(520, 420, r, slow);
  paintRectangle(after, [222, 50, 390, 370], [0.75, 0.88, 1]);
  paintMark(after, 'burn', 300, 200, 26, 0.5);
  const good = path.join(folder, 'pairs', 'good');
  await mkdir(good, { recursive: true });
  for (const [name, lawn] of [
    ['before', before],
    ['after', after],
  ] as const) {
    const { data, width, height } = photograph(lawn, [1, 1, 1]);
    await sharp(data, { raw: { width, height, channels: 3 } })
      .png()
      .toFile(path.join(good, `${name}.png`));
  }
  const corners = { A: rectangle(60, 60, 210, 360), B: rectangle(230, 60, 380, 360) };
  await writeFile(
    path.join(good, 'outlines.json'),
    JSON.stringify({
      plots: [
        { id: 'A', check: true, corners: corners.A, cornersAfter: corners.A, groundMetres: rectangle(0, 0, 0.9, 1.8) },
        { id: 'B', corners: corners.B, cornersAfter: corners.B, groundMetres: rectangle(1.02, 0, 1.92, 1.8) },
      ],
    }),
  );
  const bad = path.join(folder, 'pairs', 'bad');
  await mkdir(bad);
  await writeFile(path.join(bad, 'before.jpg'), 'no photo at all');
  await writeFile(path.join(bad, 'after.jpg'), 'no photo at all');
  await writeFile(path.join(bad, 'outlines.json'), JSON.stringify({ plots: [{ id: 'A', corners: corners.A }] }));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

async function compare(...args: string[]): Promise<{ code: number; stdout: string; stderr: string }> {
  try {
    const { stdout, stderr } = await promisify(execFile)(
      process.execPath,
      ['lib/commands/run.mjs', 'compare', ...args],
      { cwd: root, maxBuffer: 1e8 },
    );
    return { code: 0, stdout, stderr };
  } catch (error) {
    const { code, stdout, stderr } = error as { code: number; stdout: string; stderr: string };
    return { code, stdout, stderr };
  }
}

describe('npm run compare', () => {
  test(
    'compares a folder of pairs, finishes the good one when another fails, and writes each to --out',
    { timeout: 90_000 },
    async () => {
      const out = path.join(folder, 'out');
      const { code, stdout, stderr } = await compare(path.join(folder, 'pairs'), '--out', out, '--json');
      expect(code).toBe(1);
      expect(stderr).toMatch(/^bad: Expected/m);
      const results = JSON.parse(stdout) as Record<string, unknown>[];
      expect(results.map((r) => [r['pair'], 'error' in r])).toEqual([
        ['bad', true],
        ['good', false],
      ]);
      const good = JSON.parse(await readFile(path.join(out, 'good.json'), 'utf8'));
      expect(Object.keys(good.registration.stripCornersAfter)).toEqual(['A', 'B']);
      const [check, treated] = good.strips;
      expect(check.diffMinusCheck).toBeNull();
      expect(treated.diffWithoutPatches).toBeGreaterThan(0.02);
      expect(treated.ci95[0]).toBeLessThan(treated.diffMinusCheck);
      expect(good.patches).toEqual([expect.objectContaining({ kind: 'burn', strip: 'B', photo: 'after', new: true })]);
    },
  );

  test.each([
    [['one.jpg'], 'Expected a folder of pairs'],
    [['a.jpg', 'b.jpg'], 'Expected --outlines FILE'],
    [[], 'Expected two photos or one folder'],
  ])('called with %j says what it expected', async (args, sentence) => {
    const { code, stderr } = await compare(...args);
    expect(code).toBe(2);
    expect(stderr).toContain(sentence);
    expect(stderr).toContain('Usage:');
  });
});
