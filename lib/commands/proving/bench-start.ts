import 'server-only';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { mkdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { benchJpeg } from '../../darkroom/bench-photo';
import { stopScorers } from '../../darkroom/scorer';
import { closeDiary, diary } from '../../diary/client';
import { applyMigrations } from '../../diary/migrate';
import { median } from '../../stats/describe';
import { seedLoad } from '../../work/keep/seed-load';
import { freePort } from './free-port';

const AIM_S = 2;
const RUNS = 3;
const PHOTOS = 40;

/** How soon a prepared `npm start` answers, with every photo of a diary still to be read. Needs built pages. */
export async function benchServerStart(folder: string): Promise<void> {
  if (!existsSync('.next/BUILD_ID')) {
    console.log("\nA start was skipped: it needs built pages ('npm run build').");
    return;
  }
  const data = path.join(folder, 'start');
  await mkdir(data);
  const before = process.env['SWATHBOOK_DATA'];
  process.env['SWATHBOOK_DATA'] = data;
  await applyMigrations(path.join(data, 'diary.db'));
  await seedLoad(
    { photos: PHOTOS, sprays: 4, weatherYears: 0 },
    Buffer.from(
      await benchJpeg({
        width: 400,
        height: 300,
        channels: 3,
        space: 'srgb',
        data: new Uint8Array(400 * 300 * 3).fill(90),
      }),
    ),
    () => {},
  );
  await diary().photo.updateMany({ data: { measureState: 'waiting', readingsKey: null } });
  await Promise.all([closeDiary(), stopScorers()]);
  const runs: number[] = [];
  const used: number[] = [];
  for (let run = -1; run < RUNS; run++) {
    const port = await freePort();
    const began = performance.now();
    const child = spawn(process.execPath, ['lib/commands/start.mjs'], {
      stdio: 'ignore',
      env: { ...process.env, HOST: '127.0.0.1', PORT: String(port), SWATHBOOK_LOG: 'error' },
    });
    while (
      !(await fetch(`http://127.0.0.1:${port}/api/health`).then(
        () => true,
        () => false,
      ))
    )
      await new Promise((resolve) => setTimeout(resolve, 10));
    if (run >= 0) {
      runs.push((performance.now() - began) / 1000);
      used.push(await otherPrograms());
    }
    child.kill('SIGTERM');
    await once(child, 'exit');
  }
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  const wallS = median(runs);
  console.log(
    `\nA prepared start with ${PHOTOS} photos still to be read: doors open after ${wallS.toFixed(2)} s, median of ${RUNS} (target ${AIM_S} s${wallS > AIM_S ? ', missed' : ''}); ${median(used).toFixed(0)} programs wanted a processor then`,
  );
}

/** How many programs want a processor now, this one aside (proc(5), loadavg's fourth field). */
async function otherPrograms(): Promise<number> {
  const running = /(\d+)\/\d+ \d+$/.exec((await readFile('/proc/loadavg', 'utf8').catch(() => '')).trim())?.[1];
  return Math.max(0, Number(running ?? 1) - 1);
}
