import { parseArgs } from 'node:util';
import { ArchiveRefused } from '@/lib/archive/refused';
import { dataFolder } from '@/lib/forms/environment';
import { restoreArchive } from '@/lib/work/keep/restore-archive';

/**
 * npm run restore -- FILE: puts an archive's diary into the data folder (SWATHBOOK_DATA, else data), all of it or
 * nothing.
 */
const USAGE = 'Usage: npm run restore -- FILE';

try {
  const { positionals } = parseArgs({ allowPositionals: true });
  const [file, ...more] = positionals;
  if (file === undefined || more.length > 0)
    throw new Error(`expected one archive, got ${positionals.length === 0 ? 'none' : positionals.length}`);
  const restored = await restoreArchive(file, dataFolder(), new Date());
  console.log(
    `Restored the diary of ${restored.madeAt.toISOString()} into ${dataFolder()}: ${restored.photos} photos, every hash as promised.`,
  );
  if (restored.migrated.length > 0)
    console.log(`It came from an older version and was brought up to date: ${restored.migrated.join(', ')}.`);
  for (const name of restored.missing)
    console.log(`The archive itself lacks ${name}: its file was gone when the archive was made.`);
  if (restored.earlierData !== null)
    console.log(`The earlier data lies in ${restored.earlierData}; remove that folder once you no longer want it.`);
} catch (error) {
  console.error(`restore: ${(error as Error).message}`);
  if (!(error instanceof ArchiveRefused)) console.error(USAGE);
  process.exitCode = error instanceof ArchiveRefused ? 1 : 2;
}
