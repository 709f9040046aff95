import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary, diary } from '@/lib/diary/client';
import { applyPostgresqlMigrations } from '@/lib/diary/migrate-postgresql';
import { closeQueue, sendRenewal, takeRenewals } from '@/lib/diary/work-queue';
import { askRenewal } from '@/lib/work/photos/ask-renewal';
import { upToDatePhotos } from '@/lib/work/photos/worked-out';
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

    await sendRenewal({ lawnId: lawn.id, photoId: null }); // it waits already: not asked for twice
    const [first] = await diary().$queryRawUnsafe<{ jobs: bigint }[]>(
      'SELECT count(*) AS jobs FROM work_queue.job WHERE singleton_key = $1',
      lawn.id,
    );
    expect(Number(first?.jobs)).toBe(1);

    // The one who has the work is killed; the queue is told here, rather than after ten minutes, that its time is up.
    const killed = await startWorker();
    const active = async () =>
      (await diary().$queryRawUnsafe<{ id: string }[]>("SELECT id::text FROM work_queue.job WHERE state = 'active'"))
        .length > 0;
    await until(active);
    killed.kill('SIGKILL');
    await diary().$executeRawUnsafe(
      "UPDATE work_queue.job SET started_on = now() - interval '1 day' WHERE state = 'active'",
    );
    await closeQueue();
    const other = await startWorker();
    await sendRenewal({ lawnId: lawn.id, photoId: null });
    await until(async () => (await upToDatePhotos(lawn.id, photos)).size === 2);
    expect(await diary().reading.count({ where: { photo: { lawnId: lawn.id } } })).toBe(4);
    const ended = new Promise((go) => other.once('exit', go));
    other.kill('SIGTERM');
    expect(await ended).toBe(0);
  }, 240_000);

  test('what fails is tried again with growing pauses, and other lawns go on meanwhile', async () => {
    const tries: Record<string, number[]> = {};
    await closeQueue();
    const quick = { expireInSeconds: 30, retryLimit: 3, retryDelay: 1, pollingIntervalSeconds: 0.5 };
    await takeRenewals(async ({ lawnId }) => {
      (tries[lawnId] ??= []).push(Date.now());
      if (lawnId === 'poison' && tries[lawnId].length < 3) throw new Error('expected');
    }, quick);
    await sendRenewal({ lawnId: 'poison', photoId: null }, quick);
    await sendRenewal({ lawnId: 'sound', photoId: null }, quick);
    await until(() => tries['poison']?.length === 3);
    expect(tries['sound']).toHaveLength(1);
    const [one, two, three] = tries['poison']!;
    expect(three! - two!).toBeGreaterThan(two! - one!);
  }, 120_000);
});
