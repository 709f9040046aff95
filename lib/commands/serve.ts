/** Serves the built pages with Next and says where to look. Started by start.mjs once all is prepared. */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary } from '@/lib/diary/client';
import { dataFolder, readEnvironment } from '@/lib/forms/environment';
import { stopComparer } from '@/lib/work/comparer';
import { resumeMeasuring } from '@/lib/work/resume-measuring';

let environment;
try {
  environment = readEnvironment();
} catch (error) {
  console.error(`swathbook: ${(error as Error).message}`);
  process.exit(2);
}
const { HOST, PORT } = environment;

// What a stop cut short is taken up before the doors open.
const resumed = await resumeMeasuring(new Date());
if (resumed.measured > 0) console.log(`Measured ${resumed.measured} photo(s) that were waiting.`);
await stopScorers();
await stopComparer();
await closeDiary();

const next = spawn(
  process.execPath,
  [path.join('node_modules', 'next', 'dist', 'bin', 'next'), 'start', '-H', HOST, '-p', String(PORT)],
  {
    stdio: ['inherit', 'pipe', 'inherit'],
    env: { ...process.env, NODE_ENV: 'production', NEXT_TELEMETRY_DISABLED: '1', SWATHBOOK_DATA: dataFolder() },
  },
);
next.stdout.on('data', (chunk: Buffer) => {
  const text = chunk.toString();
  if (text.includes('Ready')) {
    console.log(`Swathbook is at http://${HOST.includes(':') ? `[${HOST}]` : HOST}:${PORT} (diary in ${dataFolder()}). Ctrl-C stops it.`);
  } else if (/error|warn/i.test(text)) {
    process.stdout.write(text);
  }
});
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => next.kill(signal));
next.on('exit', (code) => process.exit(code ?? 0));
