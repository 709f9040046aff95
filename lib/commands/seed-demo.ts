/**
 * Writes the demo diary into the data folder named by SWATHBOOK_DATA, once: a US lawn, or with the word `metric` one in
 * metric units. Started by `npm run demo`.
 */
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary } from '@/lib/diary/client';
import { holdUnlessServed } from '@/lib/door/folder-lock';
import { dataFolder } from '@/lib/forms/environment';
import { stopComparer } from '@/lib/work/photos/comparer';
import { seedDemo } from '@/lib/work/diary/seed-demo';

try {
  // A served diary that is still empty asks for the demo itself, from its first page.
  holdUnlessServed(dataFolder(), 'filling');
} catch (error) {
  console.error(`swathbook: ${(error as Error).message.replace(/^E/, 'e')}`);
  process.exit(2);
}
const started = Date.now();
const setting = process.argv.slice(2).includes('metric') ? 'metric-cool' : 'us-warm';
const fresh = await seedDemo((text) => console.log(text), setting);
if (fresh) console.log(`The demo diary is written (${((Date.now() - started) / 1000).toFixed(0)} s).`);
await stopScorers();
await stopComparer();
await closeDiary();
