import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));

test(
  'killed three times under load, with the disk full and read-only, the server loses nothing it answered',
  { timeout: 1_500_000 },
  () => {
    const run = spawnSync(process.execPath, ['lib/commands/run.mjs', 'proving/faults', '--kills', '3'], {
      cwd: root,
      encoding: 'utf8',
      timeout: 1_490_000,
    });
    expect(`${run.stderr}${run.stdout}`).toContain('Everything held');
    expect(run.status).toBe(0);
  },
);
