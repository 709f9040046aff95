import path from 'node:path';
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { benchJpeg } from '../../darkroom/bench-photo';
import { closeDiary } from '../../diary/client';
import { listLawns } from '../../diary/lawns';
import { applyMigrations } from '../../diary/migrate';
import { stopScorers } from '../../darkroom/scorer';
import { seedLoad } from '../../work/keep/seed-load';
import { freePort } from './free-port';
import { peakBytesOf } from './peak-bytes';
import { randomRequest, type Known } from './fuzz-requests';
import { send, isSaid } from './fuzz-sending';

/**
 * Random requests against the server itself: paths, queries, headers, and bodies for every action there is, in each way
 * a body can come. Whatever is thrown, the answer is no 500, and every refusal says in words what was expected.
 */
export interface ServerTally {
  readonly asked: number;
  readonly byStatus: ReadonlyMap<number, number>;
  readonly wrong: readonly string[];
  readonly longestMs: number;
  readonly peakBytes: number;
}

async function startOn(folder: string): Promise<{ url: string; child: ChildProcess; words: () => string }> {
  const port = await freePort();
  const child = spawn(process.execPath, ['lib/commands/front.mjs'], {
    stdio: ['ignore', 'ignore', 'pipe'],
    env: {
      ...process.env,
      NODE_ENV: 'production',
      NEXT_TELEMETRY_DISABLED: '1',
      SWATHBOOK_DATA: folder,
      HOST: '127.0.0.1',
      PORT: String(port),
      SWATHBOOK_LOG: 'silent',
    },
  });
  let words = '';
  child.stderr?.on('data', (chunk: Buffer) => (words = (words + chunk.toString()).slice(-20_000)));
  const url = `http://127.0.0.1:${port}`;
  for (let i = 0; i < 600; i++) {
    if (
      await fetch(`${url}/api/health`).then(
        () => true,
        () => false,
      )
    )
      return { url, child, words: () => words };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error(`the server gave no answer within a minute: ${words}`);
}

/** The identifiers by which the build lets actions be called. */
function builtActions(): Known['actions'] {
  const manifest = JSON.parse(readFileSync('.next/server/server-reference-manifest.json', 'utf8')) as {
    node: Record<string, { workers: Record<string, unknown> }>;
  };
  return Object.entries(manifest.node).map(([id, { workers }]) => ({
    id,
    pages: Object.keys(workers).map(
      (worker) =>
        worker
          .replace(/^app/, '')
          .replace(/\/page$/, '')
          .replaceAll(/\/(?:@[^/]+|\([^/]+\))/g, '') || '/',
    ),
  }));
}

/** Throws `count` requests from number `from` on at a server of its own, a few at a time. */
export async function throwAtServer(seed: number, from: number, count: number): Promise<ServerTally> {
  if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-throw-'));
  const before = process.env['SWATHBOOK_DATA'];
  process.env['SWATHBOOK_DATA'] = folder;
  await applyMigrations(path.join(folder, 'diary.db'));
  const jpeg = await benchJpeg({
    width: 160,
    height: 120,
    channels: 3,
    space: 'srgb',
    data: new Uint8Array(160 * 120 * 3).fill(90),
  });
  const diary = await seedLoad({ photos: 4, sprays: 3, weatherYears: 0 }, Buffer.from(jpeg), () => {});
  const lawns = (await listLawns()).map((lawn) => lawn.id);
  await stopScorers();
  await closeDiary();
  const known: Known = {
    ids: [
      ...lawns,
      ...Object.values(diary).filter((value): value is string => typeof value === 'string'),
      'cmaaaaaaaaaaaaaaaaaaaaaaa',
    ],
    actions: builtActions(),
  };
  const { url, child, words } = await startOn(folder);
  const byStatus = new Map<number, number>();
  const wrong: string[] = [];
  let longestMs = 0;
  let next = from;
  try {
    const thrower = async () => {
      while (next < from + count && wrong.length < 40) {
        const index = next++;
        const request = randomRequest(seed, index, known);
        const label = `request ${index} of seed ${seed} (${request.method} ${request.path.slice(0, 120)})`;
        try {
          const { status, text, ms } = await send(url, request);
          byStatus.set(status, (byStatus.get(status) ?? 0) + 1);
          longestMs = Math.max(longestMs, ms);
          if (status >= 500) wrong.push(`${label}: ${status} ${text.slice(0, 200)}`);
          else if (status >= 400 && request.method !== 'HEAD' && status !== 416 && !isSaid(text))
            wrong.push(`${label}: ${status} without a word: ${text.slice(0, 100)}`);
        } catch (error) {
          // Some headers no client may send, and Node's own parser refuses: that is an answer too, unless the server is
          // gone.
          if (
            !(await fetch(`${url}/api/health`).then(
              (answer) => answer.ok,
              () => false,
            ))
          ) {
            wrong.push(`${label}: the server is gone (${(error as Error).message})`);
            return;
          }
          if (/no answer/.test((error as Error).message)) wrong.push(`${label}: ${(error as Error).message}`);
        }
      }
    };
    await Promise.all([thrower(), thrower(), thrower(), thrower()]);
    if (wrong.length > 0) wrong.push(`the server's last words: ${words().slice(-1500)}`);
    return { asked: next - from, byStatus, wrong, longestMs, peakBytes: peakBytesOf(child.pid) };
  } finally {
    child.kill('SIGTERM');
    await new Promise((resolve) =>
      child.exitCode === null && child.signalCode === null ? child.once('exit', resolve) : resolve(0),
    );
    if (before === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before;
    rmSync(folder, { recursive: true, force: true });
  }
}
