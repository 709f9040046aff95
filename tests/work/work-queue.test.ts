import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary, diary } from '@/lib/diary/client';
import { applyPostgresqlMigrations } from '@/lib/diary/migrate-postgresql';
import { askWorkers, takeAsked, type Asked } from '@/lib/diary/asked-renewals';
import { replaceChanges } from '@/lib/diary/changes';
import { keepFailure, saveReadings } from '@/lib/diary/readings';
import { closeQueue } from '@/lib/diary/work-queue';
import { askRenewal } from '@/lib/work/photos/ask-renewal';
import { upToDatePhotos } from '@/lib/work/photos/stand-of';
import { drawnLawn, outlineBoth, upload } from '../support/drawn-diary';
import { postgresPrograms, startPostgres, type PostgresServer } from '@/lib/commands/proving/own-postgres';

const programs = postgresPrograms();
const settings = ['SWATHBOOK_DATA', 'SWATHBOOK_DATABASE', 'SWATHBOOK_WORK'] as const;

describe.skipIf(programs === null)('work left to workers', () => {
  const root = mkdtempSync(path.join(tmpdir(), 'swathbook-queue-'));
  const before = Object.fromEntries(settings.map((name) => [name, process.env[name]]));
  let server: PostgresServer;
  const workers: ChildProcess[] = [];

  /** A worker of its own process, once it waits for work. */
  async function startWorker(): Promise<ChildProcess> {
    const worker = spawn(process.execPath, ['lib/commands/run.mjs', 'worker'], {
      env: process.env,
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    workers.push(worker);
    await new Promise<void>((go, fail) => {
      worker.stdout.on('data', (said: Buffer) => said.toString().includes('Waiting for work') && go());
      worker.once('exit', (code) => fail(new Error(`the worker ended with ${code}`)));
    });
    return worker;
  }

  async function until(what: () => Promise<boolean> | boolean): Promise<void> {
    while (!(await what())) await new Promise((go) => setTimeout(go, 200));
  }

  /** Work that waits or is under way for a lawn, how much of it is under way, and what is asked for. */
  async function waiting(lawnId: string): Promise<{ jobs: number; active?: number; asked: number }> {
    const [row] = await diary().$queryRawUnsafe<{ jobs: number; active: number; asked: number }[]>(
      `SELECT count(*)::integer AS jobs, (count(*) FILTER (WHERE state = 'active'))::integer AS active,
        (SELECT count(*)::integer FROM work_queue.asked_renewal WHERE lawn_id = $1) AS asked
      FROM work_queue.job WHERE singleton_key = $1 AND state < 'completed'`,
      lawnId,
    );
    return row!.active === 0 ? { jobs: row!.jobs, asked: row!.asked } : row!;
  }

  beforeAll(async () => {
    server = await startPostgres(programs!);
    server.run('CREATE DATABASE queued');
    await applyPostgresqlMigrations(server.url('queued'));
    Object.assign(process.env, {
      SWATHBOOK_DATA: root,
      SWATHBOOK_DATABASE: server.url('queued'),
      SWATHBOOK_WORK: 'apart',
    });
  }, 120_000);
  afterAll(async () => {
    for (const worker of workers) worker.kill('SIGKILL');
    await closeQueue();
    await stopScorers();
    await closeDiary();
    server?.remove();
    for (const name of settings) {
      if (before[name] === undefined) delete process.env[name];
      else process.env[name] = before[name];
    }
    rmSync(root, { recursive: true, force: true });
  });

  test('photos are read by a worker, not by whoever took them in; one that is killed at it is replaced by another', async () => {
    const { lawn, ...plots } = await drawnLawn();
    const photos: string[] = [];
    for (const shot of [{ at: '2026-05-01T16:00' }, { at: '2026-05-04T16:00', greening: 0.9 }])
      photos.push(await upload(lawn, shot));
    for (const id of photos) await outlineBoth(id, plots);
    await askRenewal(lawn.id, photos[0]);
    expect((await upToDatePhotos(lawn.id, photos)).size).toBe(0);

    await askRenewal(lawn.id, photos[0]); // it waits already: not asked for twice
    expect(await waiting(lawn.id)).toEqual({ jobs: 1, asked: 2 });

    // The one who has the work is killed. Nobody is told: another has to notice.
    const killed = await startWorker();
    const active = async () =>
      (await diary().$queryRawUnsafe<{ id: string }[]>("SELECT id::text FROM work_queue.job WHERE state = 'active'"))
        .length > 0;
    await until(active);
    killed.kill('SIGKILL');
    await closeQueue();
    const other = await startWorker();
    await until(async () => (await upToDatePhotos(lawn.id, photos)).size === 2);
    expect(await diary().reading.count({ where: { photo: { lawnId: lawn.id } } })).toBe(4);
    await until(async () => (await waiting(lawn.id)).asked === 0);
    const ended = new Promise((go) => other.once('exit', go));
    other.kill('SIGTERM');
    expect(await ended).toBe(0);
  }, 240_000);

  test('several workers that keep the readings and changes of one photo at once leave one of each', async () => {
    const { lawn, sprayed, check } = await drawnLawn();
    const [earlier, photo] = [
      await upload(lawn, { at: '2026-06-01T16:00' }),
      await upload(lawn, { at: '2026-06-04T16:00' }),
    ];
    const takenAt = new Date('2026-06-04T14:00:00Z');
    const reading = (plotId: string) => ({
      plotId,
      takenAt,
      methodVersion: 'drawn',
      parameters: {},
      pixels: 1,
      turfPixels: 1,
      turfShare: 1,
      blocks: {},
    });
    const change = { baselinePhotoId: earlier, plotId: sprayed.id, checkPlotId: check.id, methodVersion: 'drawn' };
    const ends = await Promise.allSettled(
      Array.from({ length: 24 }, async () => {
        await saveReadings(photo, [reading(sprayed.id), reading(check.id)], [], 'now');
        await replaceChanges(photo, [change]);
      }),
    );
    expect(ends.filter(({ status }) => status === 'rejected')).toEqual([]);
    expect(await diary().reading.count({ where: { photoId: photo } })).toBe(2);
    expect(await diary().change.count({ where: { photoId: photo } })).toBe(1);

    // One who fails after another was through does not undo it; where the photo is another's by then, it is told.
    await keepFailure(photo, 'it stopped', 'now');
    expect(await diary().photo.findUnique({ where: { id: photo } })).toMatchObject({ measureState: 'measured' });
    expect(await diary().reading.count({ where: { photoId: photo } })).toBe(2);
    await keepFailure(photo, 'it stopped', 'later');
    expect(await diary().photo.findUnique({ where: { id: photo } })).toMatchObject({ measureState: 'failed' });
    expect(await diary().reading.count({ where: { photoId: photo } })).toBe(0);
  }, 120_000);

  /** Takes work in this process; `hold` is waited for by each piece, and what was done is written down. */
  async function takeHere(
    hold: (asked: Asked) => Promise<unknown>,
    options: Parameters<typeof takeAsked>[1] = {},
  ): Promise<string[]> {
    const done: string[] = [];
    await takeAsked(async (asked) => {
      await hold(asked);
      done.push(`${asked.lawnId} ${asked.what} ${asked.photoId ?? ''}`.trim());
    }, options);
    return done;
  }

  test('what fails is tried again with growing pauses, and other lawns go on meanwhile', async () => {
    const tries: number[] = [];
    await closeQueue();
    const quick = { expireInSeconds: 30, retryLimit: 3, retryDelay: 1 };
    const done = await takeHere(async ({ lawnId }) => {
      if (lawnId === 'poison' && tries.push(Date.now()) < 3) throw new Error('expected');
    });
    await askWorkers({ lawnId: 'poison', what: 'lawn', photoId: null }, quick);
    await askWorkers({ lawnId: 'sound', what: 'lawn', photoId: null }, quick);
    await until(() => done.length === 2);
    expect(done).toEqual(['sound lawn', 'poison lawn']);
    const [one, two, three] = tries;
    expect(three! - two!).toBeGreaterThan(two! - one!);
  }, 120_000);

  test('a photo that comes in while its lawn is worked on is begun at once, by the same worker, and named', async () => {
    await closeQueue();
    let finish = () => {};
    const held = new Promise<void>((go) => (finish = go));
    const done = await takeHere(({ what }) => (what === 'lawn' ? held : Promise.resolve()));
    await askWorkers({ lawnId: 'wide', what: 'lawn', photoId: null });
    await until(async () => (await waiting('wide')).active === 1);
    for (const photoId of ['first', 'second']) await askWorkers({ lawnId: 'wide', what: 'upload', photoId });
    await until(() => done.length === 2);
    expect(done).toEqual(['wide upload first', 'wide upload second']);
    // Behind a lawn that waits once more others are not held up.
    const others = await startWorker();
    await askWorkers({ lawnId: 'no such lawn', what: 'lawn', photoId: null });
    await until(async () => (await waiting('no such lawn')).jobs === 0);
    others.kill('SIGTERM');
    finish();
    await until(async () => (await waiting('wide')).asked === 0);
    expect(done).toHaveLength(3);
  }, 120_000);

  test('work that takes longer than a silent worker is waited for stays with a worker who is at it', async () => {
    await closeQueue();
    let begun = 0;
    const done = await takeHere(
      () => {
        begun += 1;
        return new Promise((go) => setTimeout(go, 20_000));
      },
      { beatMs: 500 },
    );
    await askWorkers({ lawnId: 'slow', what: 'lawn', photoId: null }, { expireInSeconds: 5 });
    await until(() => done.length === 1);
    await until(async () => (await waiting('slow')).jobs === 0);
    expect(begun).toBe(1);
  }, 120_000);
});
