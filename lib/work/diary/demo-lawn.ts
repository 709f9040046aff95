import 'server-only';
import { spawn, type ChildProcess } from 'node:child_process';
import { discardPrints } from '@/lib/darkroom/prints';
import { discardPhoto } from '@/lib/darkroom/originals';
import type { PhotoKind } from '@/lib/darkroom/sniff';
import { demoScenario } from '@/lib/demo/scenario';
import type { DemoSetting } from '@/lib/demo/story';
import { countPhotos } from '@/lib/diary/photos';
import { removeLawn } from '@/lib/diary/remove-lawn';
import { readSetting, removeSettings } from '@/lib/diary/settings';
import { readDemoSetting } from '@/lib/forms/demo-setting';
import { dataFolder } from '@/lib/forms/environment';
import { demoDone, demoLawn } from './seed-demo';

export type DemoState =
  | { kind: 'none' }
  /** Started, its lawn not there yet. */
  | { kind: 'starting' }
  | { kind: 'drawing' | 'stopped'; lawnId: string; photos: number; ofPhotos: number }
  | { kind: 'there'; lawnId: string };

/** The process that draws, kept over dev reloads. */
const holder = globalThis as { swathbookDemo?: ChildProcess | undefined };

/** How far the demo lawn is in this diary. 'stopped' means that the server was stopped while it was drawn. */
export async function demoState(): Promise<DemoState> {
  const [setting, done] = await Promise.all([readSetting(demoLawn), readSetting(demoDone)]);
  const found = readDemoSetting(setting);
  const running = holder.swathbookDemo !== undefined;
  if (!found) return running ? { kind: 'starting' } : { kind: 'none' };
  if (done !== null) return { kind: 'there', lawnId: found.lawnId };
  return {
    kind: running ? 'drawing' : 'stopped',
    lawnId: found.lawnId,
    photos: await countPhotos(found.lawnId),
    ofPhotos: demoScenario().photos.length,
  };
}

/**
 * Starts writing the demo lawn into this diary, in a process of its own so that the pages stay quick. Does nothing when
 * it is there or under way.
 */
export async function startDemo(setting: DemoSetting): Promise<void> {
  if ((await demoState()).kind !== 'none') return;
  const child = spawn(
    process.execPath,
    ['lib/commands/run.mjs', 'seed-demo', ...(setting === 'metric-cool' ? ['metric'] : [])],
    {
      env: { ...process.env, SWATHBOOK_DATA: dataFolder() },
      stdio: 'ignore',
    },
  );
  holder.swathbookDemo = child;
  const over = () => (holder.swathbookDemo = undefined);
  child.once('exit', over);
  child.once('error', over);
}

/** Takes the demo lawn out again: its rows, its photos' files, and its products where no other spray used them. */
export async function removeDemo(): Promise<void> {
  const found = readDemoSetting(await readSetting(demoLawn));
  if (!found || holder.swathbookDemo !== undefined) return;
  const photos = await removeLawn(found.lawnId, found.productIds);
  await removeSettings([demoLawn, demoDone]);
  for (const { sha256, kind } of photos) {
    await discardPrints(dataFolder(), sha256);
    await discardPhoto(dataFolder(), sha256, kind as PhotoKind);
  }
}
