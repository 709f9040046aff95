import { statSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { ArchiveRefused } from '@/lib/archive/refused';
import { wholeArgument } from '@/lib/forms/command-line';
import { keepArchive, thinArchives } from '@/lib/work/keep/keep-archive';

/**
 * npm run archive [-- --keep N] [--out FILE]: one file of everything, read back and checked. Without --out it goes to
 * data/archives; --keep then leaves the newest N there. The server may be running.
 */
const USAGE = 'Usage: npm run archive -- [--keep N] [--out FILE]';

try {
  const { values } = parseArgs({ options: { keep: { type: 'string' }, out: { type: 'string' } } });
  const keep = values.keep === undefined ? null : wholeArgument('keep', values.keep, { min: 1, max: 10_000 });
  const started = Date.now();
  let step = '';
  const kept = await keepArchive({
    now: new Date(),
    ...(values.out === undefined ? {} : { target: values.out }),
    onProgress: (progress) => {
      if (progress.step !== step) console.log(`${(step = progress.step)} …`);
    },
  });
  console.log(
    `${kept.path}: ${kept.photos} photos, ${(statSync(kept.path).size / 1e6).toFixed(1)} MB, ${((Date.now() - started) / 1000).toFixed(1)} s, read back and checked.`,
  );
  for (const name of kept.missing) console.error(`Missing: the diary lists ${name}, but its file is not there.`);
  if (keep !== null && values.out === undefined)
    for (const name of await thinArchives(keep)) console.log(`Removed the older ${path.join('archives', name)}.`);
  if (kept.missing.length > 0) process.exitCode = 1;
} catch (error) {
  console.error(`archive: ${(error as Error).message}`);
  if (!(error instanceof ArchiveRefused)) console.error(USAGE);
  process.exitCode = error instanceof ArchiveRefused ? 1 : 2;
}
