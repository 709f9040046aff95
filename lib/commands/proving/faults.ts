import { existsSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { wholeArgument } from '../../forms/command-line';
import { seededRandom } from '../../stats/random';
import { killMachines } from './kill-machines';
import { killWork } from './kill-work';
import { prove, failures } from './fault-server';
import { killAgainAndAgain } from './fault-kills';
import { starveOfDisk } from './fault-disk';

try {
  const { values } = parseArgs({
    options: {
      engine: { type: 'string', default: 'sqlite' },
      kills: { type: 'string' },
      seed: { type: 'string' },
      'skip-disk': { type: 'boolean', default: false },
    },
  });
  const kills = wholeArgument('kills', values.kills, { min: 0, max: 10_000, otherwise: 50 });
  const seed = wholeArgument('seed', values.seed, { min: 0, max: 2 ** 31, otherwise: 7 });
  if (!existsSync('.next/BUILD_ID')) throw new Error("expected built pages, found none: 'npm run build' first");
  const started = Date.now();
  if (values.engine !== 'postgres' && values.engine !== 'sqlite')
    throw new Error(`--engine: expected sqlite or postgres, got '${values.engine}'`);
  if (values.engine === 'postgres') await killMachines(kills, seededRandom(`machines ${seed}`), prove);
  const ofServer = Math.ceil(kills / 2);
  if (values.engine === 'sqlite' && ofServer > 0) await killAgainAndAgain(ofServer, seededRandom(`faults ${seed}`));
  if (values.engine === 'sqlite' && kills > ofServer)
    await killWork(kills - ofServer, seededRandom(`work ${seed}`), prove);
  if (values.engine === 'sqlite' && !values['skip-disk']) await starveOfDisk(seededRandom(`disk ${seed}`));
  for (const failure of failures.slice(0, 40)) console.error(`NOT TRUE  ${failure}`);
  console.log(
    failures.length === 0
      ? `Everything held (${Math.round((Date.now() - started) / 1000)} s).`
      : `${failures.length} thing(s) did not hold.`,
  );
  process.exitCode = failures.length === 0 ? 0 : 1;
} catch (error) {
  console.error(`faults: ${(error as Error).message}`);
  process.exitCode = 2;
}
