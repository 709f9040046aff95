/**
 * `npm start`: from a bare clone to a served diary; a second start skips what is done. `--demo` serves the demo diary.
 */
import { spawn, spawnSync } from 'node:child_process';
import path from 'node:path';
import { parentsOf } from './process-parents.mjs';
import { buildWhenStale, commandNamed, migrate, prepare, projectRoot } from './setup.mjs';

const demo = process.argv.includes('--demo');
if (demo) process.env.SWATHBOOK_DATA ??= path.join(projectRoot, 'demo-data');

prepare();
migrate();
if (demo) {
  const seeded = spawnSync(
    process.execPath,
    [...commandNamed('seed-demo'), ...(process.argv.includes('--metric') ? ['metric'] : [])],
    { cwd: projectRoot, stdio: 'inherit' },
  );
  if (seeded.status !== 0) process.exit(seeded.status ?? 1);
}
buildWhenStale();

// Each process learns by its channel that the one which started it has ended, whatever ended it.
const server = spawn(process.execPath, commandNamed('serve'), {
  cwd: projectRoot,
  stdio: ['inherit', 'inherit', 'inherit', 'ipc'],
});
if (process.env.npm_lifecycle_event !== undefined) stopWithParents(() => server.kill('SIGTERM'));
for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => server.kill(signal));
server.on('exit', (code, signal) => process.exit(code ?? (signal ? 0 : 1)));

/**
 * npm stands in front, with a shell between: when either ends, this process has another parent, and nobody would stop
 * it.
 */
function stopWithParents(stop) {
  const before = parentsOf(process.pid, 2).join();
  setInterval(() => {
    if (parentsOf(process.pid, 2).join() !== before) stop();
  }, 500).unref();
}
