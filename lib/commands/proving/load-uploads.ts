import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import path from 'node:path';
import { benchJpeg } from '../../darkroom/bench-photo';
import { stopScorers } from '../../darkroom/scorer';
import { demoScenario } from '../../demo/scenario';
import { drawLawnPhoto } from '../../demo/lawn-renderer';
import { createSprayRows, createBareProduct } from '../../diary/bulk-rows';
import { closeDiary } from '../../diary/client';
import { createLawn } from '../../diary/lawns';
import { applyMigrations } from '../../diary/migrate';
import { createPlot } from '../../diary/plots';
import { median, quantile } from '../../stats/describe';
import { DAY_MS } from '../../units/time';
import { outlinePlots } from '../../work/photos/outline-plots';
import { stopComparer } from '../../work/photos/comparer';
import { takePhoto } from '../../work/photos/take-photo';
import { enlarged, plotsOf } from './bench-pair';
import { serveLoad } from './load-serving';

/**
 * npm run load:uploads: serves a lawn of three strips, drawn at 12 megapixels, and sends photos as the page does: one
 * after another, and 24 two at a time. Of each it prints how long the sender waited for the answer and how long until
 * the photo's page showed its numbers, lined up, measured and compared; meanwhile other pages are opened. Sending to
 * this machine takes no time, so the end of an upload is its beginning here. Needs built pages.
 */
const AIM = { oneS: 3, batchS: 45, pageMs: 300 } as const;
const ONES = 5;
const BATCH = 24;
const AT_ONCE = 2;
/** How often a page is looked at: by itself it looks again every second. */
const LOOK_MS = { one: 100, batch: 1000 } as const;

/**
 * Seconds of processors a process has used, its threads with it, as Linux counts them (proc(5): hundredths); 0
 * elsewhere.
 */
function processorsOf(pid: number | undefined): number {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]!.split(' ');
    return (Number(fields[11]) + Number(fields[12])) / 100;
  } catch {
    return 0;
  }
}

const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-uploads-'));
const before = new Date('2026-05-01T12:00:00Z');
const missed = (figure: number, aim: number) => (figure > aim ? ', missed' : '');
try {
  if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const scenario = demoScenario();
  const [first, ...others] = scenario.photos.slice(0, 5).map((photo) => enlarged(photo));
  const draw = (photo: typeof first) => benchJpeg(drawLawnPhoto(photo!, scenario.strips));
  const lawn = await createLawn({
    name: 'A lawn',
    timeZone: 'UTC',
    unitSystem: 'metric',
    latitudeDeg: 45,
    longitudeDeg: 9,
    waterChlorinated: false,
    note: '',
    place: '',
    grass: '',
  });
  const plots = new Map(
    await Promise.all(
      scenario.strips.map(
        async (strip) =>
          [
            strip.id,
            await createPlot(lawn.id, {
              name: strip.id,
              isCheck: strip.isCheck,
              polygonM: strip.polygonM.map(([x, y]): [number, number] => [x, y]),
              areaM2: strip.areaM2,
              areaEnteredValue: null,
              areaEnteredUnit: null,
              note: '',
            }),
          ] as const,
      ),
    ),
  );
  const taken = await takePhoto(new Blob([new Uint8Array(await draw(first))]).stream(), {
    lawnId: lawn.id,
    fileName: 'first.jpg',
    viewpointName: 'path',
    modified: before,
    now: new Date(),
  });
  if (!taken.ok) throw new Error(taken.message);
  const outlined = await outlinePlots(
    taken.photoId,
    plotsOf(scenario, scenario.photos[0]!, 1).map(({ id, corners }) => ({
      plotId: plots.get(id as 'A')!.id,
      corners: corners.map(([x, y]): [number, number] => [x!, y!]),
    })),
  );
  if (!outlined.ok) throw new Error(outlined.message);
  await createSprayRows(lawn.id, [
    {
      id: 'loadspray000000000000',
      startedAt: new Date(before.getTime() + 3_600_000),
      productId: await createBareProduct('Iron salt'),
      plotIds: scenario.strips.filter((strip) => !strip.isCheck).map((strip) => plots.get(strip.id)!.id),
      areaM2: 10,
    },
  ]);
  await Promise.all([stopScorers(), stopComparer(), closeDiary()]);
  const drawn: Uint8Array[] = [];
  for (const photo of others) drawn.push(await draw(photo));

  const { url, child } = await serveLoad(folder);
  const pause = (ms: number) =>
    new Promise((resolve) => {
      setTimeout(resolve, ms);
    });

  /** How long pages stood at each step, seconds. */
  const steps = new Map<string, number>();
  /** Sends the photo of a day. @returns its name, once the server has answered */
  async function send(day: number): Promise<string> {
    // Each file is another: stray bytes after the picture's end change nothing in it.
    const body = Buffer.concat([Buffer.from(drawn[day % drawn.length]!), Buffer.from(`photo ${day}`)]);
    const answer = await fetch(
      `${url}/api/photos?${new URLSearchParams({ lawn: lawn.id, name: `${day}.jpg`, viewpoint: 'path', modified: new Date(before.getTime() + (day + 1) * DAY_MS).toISOString() })}`,
      { method: 'PUT', body },
    );
    const { ok, message, photoId } = (await answer.json()) as { ok: boolean; message: string; photoId: string };
    if (!ok) throw new Error(message);
    return photoId;
  }

  /** Looks at a photo's page every so often until it has all its numbers. */
  async function untilShown(photoId: string, lookMs: number): Promise<void> {
    for (;;) {
      const page = await (await fetch(`${url}/photos/${photoId}`)).text();
      const step = /Step \d of 3: [^.]*/.exec(page)?.[0];
      if (step === undefined) {
        if (/being worked out|Being read/.test(page))
          throw new Error('the page of a photo waits without naming its step');
        return;
      }
      const from = performance.now();
      await pause(lookMs);
      steps.set(step, (steps.get(step) ?? 0) + (performance.now() - from) / 1000);
    }
  }

  async function one(day: number): Promise<{ answeredS: number; shownS: number }> {
    const began = performance.now();
    const photoId = await send(day);
    const answeredS = (performance.now() - began) / 1000;
    await untilShown(photoId, LOOK_MS.one);
    return { answeredS, shownS: (performance.now() - began) / 1000 };
  }

  const pages = ['/', '/photos', '/response', '/plan', '/weather', '/trials', '/calendar', `/photos/${taken.photoId}`];
  for (const page of [...pages, ...pages]) await (await fetch(url + page)).arrayBuffer(); // code is loaded once, by whoever comes first
  await one(0); // and so is what reads photos
  steps.clear();
  const usedBefore = processorsOf(child.pid);
  const ones: Awaited<ReturnType<typeof one>>[] = [];
  for (let day = 1; day <= ONES; day++) ones.push(await one(day));
  const shownS = median(ones.map((found) => found.shownS));
  console.log(
    `One photo of 12 megapixels, lined up, measured and compared, median of ${ONES}: answered after ${median(ones.map(({ answeredS }) => answeredS)).toFixed(1)} s, its numbers on its page after ${shownS.toFixed(1)} s (target ${AIM.oneS} s${missed(shownS, AIM.oneS)})`,
  );
  console.log(
    `  its page named what it waited for: ${[...steps]
      .toSorted()
      .map(([step, seconds]) => `${step} (${(seconds / ONES).toFixed(1)} s)`)
      .join(
        ' · ',
      )}; ${((processorsOf(child.pid) - usedBefore) / ONES).toFixed(1)} s of processors each, its pages included`,
  );

  const visit = { over: false };
  const waits: number[] = [];
  const reader = (async () => {
    for (let at = 0; !visit.over; at++) {
      const began = performance.now();
      await (await fetch(url + pages[at % pages.length])).arrayBuffer();
      waits.push(performance.now() - began);
      await pause(250);
    }
  })();
  const began = performance.now();
  let next = ONES + 1;
  const sent: string[] = [];
  await Promise.all(
    Array.from({ length: AT_ONCE }, async () => {
      // The next photo goes when one is answered, as the page sends them; their numbers come when they come.
      while (next <= ONES + BATCH) sent.push(await send(next++));
    }),
  );
  // One page at a time, as a person looks.
  for (const photoId of sent) await untilShown(photoId, LOOK_MS.batch);
  const batchS = (performance.now() - began) / 1000;
  visit.over = true;
  await reader;
  const p95 = quantile(waits, 0.95);
  console.log(
    `${BATCH} of them, ${AT_ONCE} at a time: all numbers after ${batchS.toFixed(1)} s (target ${AIM.batchS} s${missed(batchS, AIM.batchS)})`,
  );
  console.log(
    `  other pages meanwhile: median ${median(waits).toFixed(0)} ms, nineteen of twenty within ${p95.toFixed(0)} ms (target ${AIM.pageMs} ms${missed(p95, AIM.pageMs)}), longest ${Math.max(...waits).toFixed(0)} ms`,
  );
  console.log(`  load average ${loadavg()[0]?.toFixed(1)} on ${availableParallelism()} processors`);
  process.exitCode = shownS <= AIM.oneS && batchS <= AIM.batchS && p95 <= AIM.pageMs ? 0 : 1;
  child.kill('SIGTERM');
  await new Promise((resolve) => child.once('exit', resolve));
} catch (error) {
  console.error(`load:uploads: ${(error as Error).message}`);
  process.exitCode = 2;
} finally {
  await Promise.all([stopScorers(), stopComparer(), closeDiary()]);
  rmSync(folder, { recursive: true, force: true });
}
