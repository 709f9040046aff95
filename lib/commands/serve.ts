/** Takes up what a stop cut short, then serves the pages. Started by start.mjs once all is prepared. */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary } from '@/lib/diary/client';
import { servingNow } from '@/lib/door/serving';
import { readServing } from '@/lib/forms/environment';
import { stopComparer } from '@/lib/work/comparer';
import { resumeMeasuring } from '@/lib/work/resume-measuring';

let serving;
try {
  serving = readServing();
} catch (error) {
  console.error(`swathbook: ${(error as Error).message}`);
  process.exit(2);
}
const other = servingNow(serving.dataFolder);
if (other !== null) {
  console.error(`swathbook: expected a data folder that no other server uses, got ${serving.dataFolder}, which is served at ${other.address}`);
  process.exit(2);
}

// What a stop cut short is taken up before the doors open.
const resumed = await resumeMeasuring(new Date());
if (resumed.measured > 0) console.log(`Measured ${resumed.measured} photo(s) that were waiting.`);
await stopScorers();
await stopComparer();
await closeDiary();

const front = spawn(process.execPath, [path.join('lib', 'commands', 'front.mjs')], {
  // The channel tells the server when this process has ended, whatever ended it.
  stdio: ['inherit', 'inherit', 'inherit', 'ipc'],
  env: { ...process.env, NODE_ENV: 'production', NEXT_TELEMETRY_DISABLED: '1', SWATHBOOK_DATA: serving.dataFolder },
});
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => front.kill(signal));
front.on('exit', (code) => process.exit(code ?? 1));
