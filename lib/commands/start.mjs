/** `npm start`: from a bare clone to a served diary; a second start skips what is done. `--demo` serves the demo diary. */
import { spawn, spawnSync } from 'node:child_process';
import path from 'node:path';
import { buildWhenStale, migrate, prepare, projectRoot, typescriptFlags } from './setup.mjs';

const demo = process.argv.includes('--demo');
if (demo) process.env.SWATHBOOK_DATA ??= path.join(projectRoot, 'demo-data');

prepare();
migrate();
if (demo) {
  const seeded = spawnSync(process.execPath, [...typescriptFlags, 'lib/commands/seed-demo.ts'], { cwd: projectRoot, stdio: 'inherit' });
  if (seeded.status !== 0) process.exit(seeded.status ?? 1);
}
buildWhenStale();

const server = spawn(process.execPath, [...typescriptFlags, 'lib/commands/serve.ts'], { cwd: projectRoot, stdio: 'inherit' });
for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => server.kill(signal));
server.on('exit', (code, signal) => process.exit(code ?? (signal ? 0 : 1)));
