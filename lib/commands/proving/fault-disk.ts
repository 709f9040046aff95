import path from 'node:path';
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { closeDiary } from '../../diary/client';
import type { Random } from '../../stats/random';
import { drawJpeg, type Acknowledged } from './fault-visitors';
import { prepareDiary, startServer, prove, kill, type Server } from './fault-server';
import { proveKept } from './fault-proofs';

/** Fills a small disk under the diary, then makes it read-only: one clear sentence each, nothing lost. Needs root. */
export async function starveOfDisk(random: Random): Promise<void> {
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-disk-'));
  if (process.getuid?.() !== 0 || spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=6m', 'tmpfs', folder]).status !== 0) {
    console.log('disk full, read-only: skipped (needs root and mount)');
    rmSync(folder, { recursive: true, force: true });
    return;
  }
  process.env['SWATHBOOK_DATA'] = folder;
  let server: Server | undefined;
  try {
    const ground = await prepareDiary(folder);
    const known: Acknowledged = { photos: new Map(), sprays: new Set(), notes: new Map() };
    server = await startServer(folder);
    const { url } = server;
    const send = async () => {
      const bytes = await drawJpeg(random);
      const answer = await fetch(`${url}/api/photos?lawn=${ground.lawnId}&name=x.jpg&viewpoint=`, {
        method: 'PUT',
        body: Buffer.from(bytes),
      });
      const said = (await answer.json()) as { ok: boolean; photoId?: string; message: string };
      if (said.ok && said.photoId) known.photos.set(said.photoId, createHash('sha256').update(bytes).digest('hex'));
      return { status: answer.status, message: said.message };
    };
    let answer = await send();
    for (let i = 0; i < 200 && answer.status === 200; i++) answer = await send();
    console.log(`disk full after ${known.photos.size} photos: ${answer.status} ${answer.message}`);
    prove(
      'a full disk is told in one sentence',
      answer.status === 507 && /^The disk is full: .*\.$/.test(answer.message),
      `${answer.status} ${answer.message}`,
    );
    prove('the pages still open on a full disk', (await fetch(url)).status === 200);
    await proveKept(folder, known, 'on a full disk');
    await kill(server);
    let remounted = 1;
    for (let i = 0; i < 50 && remounted !== 0; i++) {
      remounted = spawnSync('mount', ['-o', 'remount,ro', folder]).status ?? 1; // busy until the last process has let go
      if (remounted !== 0) await new Promise((resolve) => setTimeout(resolve, 100));
    }
    prove('the disk could be made read-only', remounted === 0);
    const refused = spawnSync(process.execPath, ['lib/commands/run.mjs', 'migrate'], {
      encoding: 'utf8',
      env: process.env,
    });
    console.log(`read-only at start: ${refused.stderr.trim().split('\n')[0]}`);
    prove(
      'a read-only data folder is told in one sentence at start',
      refused.status === 1 &&
        /^swathbook: expected a data folder that can be written to, got .*\n$/.test(refused.stderr),
      refused.stderr,
    );
    spawnSync('mount', ['-o', 'remount,rw,size=60m', folder]);
    server = await startServer(folder);
    const shelf = path.join(folder, 'photos');
    spawnSync('mount', ['--bind', shelf, shelf]);
    prove('the photos could be made read-only', spawnSync('mount', ['-o', 'remount,bind,ro', shelf]).status === 0);
    const bytes = await drawJpeg(random);
    const late = await fetch(`${server.url}/api/photos?lawn=${ground.lawnId}&name=x.jpg&viewpoint=`, {
      method: 'PUT',
      body: Buffer.from(bytes),
    });
    const said = (await late.json()) as { message: string };
    console.log(`read-only while serving: ${late.status} ${said.message}`);
    prove(
      'a folder that turns read-only is told in one sentence',
      late.status === 507 && /^The data folder can’t be written to.*\.$/.test(said.message),
      `${late.status} ${said.message}`,
    );
    await proveKept(folder, known, 'on a read-only disk');
  } finally {
    if (server !== undefined) await kill(server).catch(() => undefined);
    await closeDiary();
    spawnSync('umount', ['-l', path.join(folder, 'photos')]);
    spawnSync('umount', ['-l', folder]);
    rmSync(folder, { recursive: true, force: true });
  }
}
