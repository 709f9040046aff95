/**
 * Clears away what a stop cut short, then serves the pages; photos still to be read are read behind the open doors
 * (front.ts). Started by start.mjs once all is prepared.
 */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { clearLeftBehind } from '@/lib/archive/left-overs';
import { finishSwap } from '@/lib/archive/swap';
import { checkBucket, hasBucket } from '@/lib/darkroom/bucket';
import { closeDiary } from '@/lib/diary/client';
import { FolderInUse, FolderRefused, holdFolder, type Hold } from '@/lib/door/folder-lock';
import { isRunning } from '@/lib/door/process-life';
import { readServing } from '@/lib/forms/environment';
import { clearStopped } from '@/lib/work/photos/resume-measuring';

let serving;
let hold: Hold;
try {
  serving = readServing();
  hold = holdFolder(serving.dataFolder, 'serving');
} catch (error) {
  console.error(`swathbook: ${(error as Error).message.replace(/^E/, 'e')}`);
  process.exit(error instanceof FolderRefused && !(error instanceof FolderInUse) ? 1 : 2);
}
// A restore that a stop cut short is finished before anything is looked at.
if (await finishSwap(serving.dataFolder)) console.log('Finished a restore that was cut short.');
const cleared = await clearLeftBehind(serving.dataFolder, isRunning);
if (cleared.count > 0)
  console.log(
    `Removed ${cleared.count} unfinished thing(s) that a stop left behind (${(cleared.bytes / 1e6).toFixed(1)} MB).`,
  );

// Next makes itself ready while files without a photo are set aside; the doors open when it is told to.
const front = spawn(process.execPath, [path.join('lib', 'commands', 'front.mjs')], {
  // The channel tells the server when this process has ended, whatever ended it.
  stdio: ['inherit', 'inherit', 'inherit', 'ipc'],
  env: {
    ...process.env,
    NODE_ENV: 'production',
    NEXT_TELEMETRY_DISABLED: '1',
    SWATHBOOK_DATA: serving.dataFolder,
    SWATHBOOK_HOLD: hold.key,
    SWATHBOOK_OPENS: 'told',
  },
});
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => front.kill(signal));
process.on('disconnect', () => front.kill('SIGTERM'));
front.on('exit', (code, signal) => process.exit(code ?? (signal === 'SIGTERM' || signal === 'SIGINT' ? 0 : 1)));

if (hasBucket()) {
  try {
    await checkBucket();
  } catch (error) {
    console.error(`swathbook: ${(error as Error).message.replace(/^E/, 'e')}`);
    front.kill('SIGTERM');
    process.exit(1);
  }
}
await clearStopped(new Date());
await closeDiary();
if (front.connected) front.send('open');
