import 'server-only';
import { existsSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { leftBehind } from '../../archive/left-overs';
import { readArchive } from '../../archive/read';
import { timeIsUp } from '../../diary/work-queue';
import { isRunning } from '../../door/process-life';
import { parseArchiveManifest } from '../../forms/archive-manifest';
import type { Random } from '../../stats/random';
import { archiveJob, startArchive, type ArchiveJob } from '../../work/keep/archive-job';
import type { Prove } from './fault-proofs';

const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/** Archives are asked for until this many makings were met by a kill, at most so many times. */
const CAUGHT = 3;
const TRIES = 12;

const isBeingMade = (job: ArchiveJob): boolean => job.state === 'running' && !job.step.startsWith('waiting');

async function until(ends: (job: ArchiveJob) => boolean, forMs: number): Promise<ArchiveJob> {
  const end = Date.now() + forMs;
  let job = await archiveJob();
  while (!ends(job) && Date.now() < end) {
    await pause(5);
    job = await archiveJob();
  }
  return job;
}

/**
 * Kills, without a word, every worker while an archive is being made by one of them: the next one makes it whole, under
 * the same name, and nothing half made stays.
 * @param photos how many photos each archive must hold
 */
export async function killArchives(
  { folder, photos, random }: { folder: string; photos: number; random: Random },
  workers: { kill: () => Promise<void>; start: () => Promise<void> },
  prove: Prove,
): Promise<void> {
  let [caught, tries] = [0, 0];
  while (caught < CAUGHT && tries < TRIES) {
    tries += 1;
    await pause(1100); // a name for each: they go by the second
    await startArchive(new Date());
    await until((job) => isBeingMade(job) || job.state === 'done', 60_000);
    await pause(random.below(150));
    await workers.kill();
    const met = isBeingMade(await archiveJob());
    if (met) caught += 1;
    await workers.start();
    await timeIsUp();
    const job = await until(({ state }) => state !== 'running', 120_000);
    const when = `archive ${tries}${met ? ', its worker killed' : ''}`;
    prove(`${when}: it is made in the end`, job.state === 'done', JSON.stringify(job));
    if (job.state !== 'done') continue;
    const file = path.join(folder, 'archives', job.name);
    const kept = await readArchive({ file, into: null, parseManifest: parseArchiveManifest }).then(
      (manifest) => manifest.entries.length - 1,
      (error: Error) => error.message,
    );
    prove(`${when}: it is whole`, kept === photos, `${kept} of ${photos} photos`);
  }
  prove('archives were met by kills', caught > 0, `${tries} were made before the kill`);
  const made = existsSync(path.join(folder, 'archives')) ? readdirSync(path.join(folder, 'archives')) : [];
  prove(
    'one archive for each that was asked for',
    made.filter((n) => n.endsWith('.zip')).length === tries,
    made.join(),
  );
  prove('nothing half made stays', (await leftBehind(folder, isRunning)).length === 0);
  console.log(`${tries} archives, ${caught} of them with their worker killed while it made them: all whole.`);
}
