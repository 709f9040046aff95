import path from 'node:path';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { inspectDatabase } from '../../archive/database';
import { closeDiary } from '../../diary/client';
import { seededRandom, type Random } from '../../stats/random';
import { changes, visit, type Acknowledged } from './fault-visitors';
import { prepareDiary, startServer, kill, failures, prove, endOf } from './fault-server';
import { proveKept, proveEnd, findStrays } from './fault-proofs';

const hasEachKind = (known: Acknowledged, kills: number): boolean =>
  known.photos.size >= kills && known.sprays.size > 0 && changes(known) > 0;

export async function killAgainAndAgain(kills: number, random: Random): Promise<void> {
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-faults-'));
  process.env['SWATHBOOK_DATA'] = folder;
  const known: Acknowledged = { photos: new Map(), sprays: new Set(), notes: new Map() };
  try {
    const ground = await prepareDiary(folder);
    for (let round = 1; round <= kills; round++) {
      const server = await startServer(folder);
      // The first visit loads the pages' code; the clock starts with the second, so that kills fall into work.
      for (const page of ['/sprays/new', ...[...known.photos.keys()].slice(0, 1).map((id) => `/photos/${id}`)])
        await (await fetch(`${server.url}${page}`)).text();
      let over = false;
      const visitors = [0, 1, 2].map((index) =>
        visit(
          server.url,
          ground,
          known,
          seededRandom(`visitor ${random.nextUint32()}`),
          `r${round}v${index}`,
          () => over,
        ),
      );
      const wait = 100 + random.below(3900);
      await new Promise((resolve) => setTimeout(resolve, wait));
      // On a machine that has much else to do, the kill waits until something was promised, the last one for each kind.
      const isEnough = () =>
        known.photos.size + known.sprays.size + changes(known) >= 2 * round &&
        (round < kills || hasEachKind(known, kills));
      for (const until = Date.now() + 60_000; !isEnough() && Date.now() < until;)
        await new Promise((resolve) => setTimeout(resolve, random.below(60)));
      over = true;
      await kill(server);
      await Promise.all(visitors);
      await proveKept(folder, known, `after kill ${round}`);
      console.log(
        `kill ${String(round).padStart(2)} after ${String(wait).padStart(4)} ms: answered so far ${known.photos.size} photos, ${known.sprays.size} sprays, ${changes(known)} changes${failures.length ? `; ${failures.length} FAILURES` : ''}`,
      );
    }
    const last = await startServer(folder);
    prove('the server takes the next visitor', (await fetch(last.url)).status === 200);
    // What waits to be read is read behind the open doors.
    const waiting = async () =>
      (await inspectDatabase(path.join(folder, 'diary.db'))).photos.filter((photo) => photo.state === 'waiting').length;
    for (const until = Date.now() + 120_000; Date.now() < until && (await waiting()) > 0;)
      await new Promise((resolve) => setTimeout(resolve, 500));
    last.process.kill('SIGTERM');
    prove('asked to stop, the server stops cleanly', (await endOf(last.process)) === 0);
    await proveKept(folder, known, 'at the end');
    await proveEnd(folder, known);
    console.log(
      `${kills} kills; proved ${known.photos.size} photos, ${known.sprays.size} sprays and ${changes(known)} changes that were answered; ${await findStrays(folder)} unfinished photos were set aside.`,
    );
    prove('there was something to prove', hasEachKind(known, kills));
  } finally {
    await closeDiary();
    rmSync(folder, { recursive: true, force: true });
  }
}
