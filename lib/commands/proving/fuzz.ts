import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { wholeArgument } from '../../forms/command-line';
import { openCases, type Outcome } from './fuzz-cases';
import { throwAtServer } from './fuzz-server';
import { peakBytesOf } from './peak-bytes';

/**
 * npm run fuzz [-- --images N] [--texts N] [--archives N] [--requests N] [--seed N] [--from N]: damaged photos of all
 * kinds, damaged CSVs, forms and addresses, damaged and altered archives, each made from its seed and number, against
 * the doors that take them, in a child process that is watched; then random paths, headers and bodies against the built
 * server itself. No crash, no case over its time, no more than 1 GB of memory (the peaks are printed), no 500, every
 * refusal a sentence. Ends with 1 when one of these fails.
 */
const LONGEST_MS = { image: 10_000, text: 10_000, archive: 60_000 } as const;
const MOST_BYTES = 1024 ** 3;

type Kind = keyof typeof LONGEST_MS;
type Word = { at: number } | { at: number; outcome: Outcome } | { end: true };

interface Tally {
  taken: number;
  refused: number;
  readonly wrong: { at: number; why: string }[];
  readonly sentences: Map<string, number>;
  longestMs: number;
  mostBytes: number;
}

async function beChild(seed: number, kind: Kind, from: number, to: number): Promise<void> {
  const tell = (word: Word) => new Promise<void>((resolve) => process.send?.(word, () => resolve()));
  const cases = await openCases(seed);
  for (let at = from; at < to; at++) {
    await tell({ at });
    await tell({ at, outcome: await cases[kind](at) });
  }
  await cases.end();
  await tell({ end: true });
  process.disconnect();
}

/** Runs cases in a child until they are through or one is too much for it. @returns the case to go on from */
function runSome(seed: number, kind: Kind, from: number, to: number, tally: Tally): Promise<number> {
  return new Promise((resolve) => {
    const child = fork(
      fileURLToPath(import.meta.url),
      ['--child', kind, '--from', String(from), '--to', String(to), '--seed', String(seed)],
      {
        stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
      },
    );
    let words = '';
    child.stderr?.on('data', (chunk: Buffer) => (words = (words + chunk.toString()).slice(-1000)));
    let current = -1;
    let began = 0;
    let ended = false;
    let killedFor = '';
    const watch = setInterval(() => {
      tally.mostBytes = Math.max(tally.mostBytes, peakBytesOf(child.pid));
      if (current >= 0 && began > 0 && Date.now() - began > LONGEST_MS[kind])
        killedFor = `took more than ${LONGEST_MS[kind] / 1000} s`;
      else if (peakBytesOf(child.pid) > MOST_BYTES) killedFor = `held more than ${MOST_BYTES / 1024 ** 2} MB`;
      if (killedFor !== '') child.kill('SIGKILL');
    }, 50);
    child.on('message', (word: Word) => {
      if ('end' in word) {
        ended = true;
        return;
      }
      if (!('outcome' in word)) {
        current = word.at;
        began = Date.now();
        return;
      }
      tally.longestMs = Math.max(tally.longestMs, Date.now() - began);
      began = 0;
      current = word.at;
      const { outcome } = word;
      if (outcome.was === 'taken') tally.taken += 1;
      else if (outcome.was === 'refused') {
        tally.refused += 1;
        const shape = outcome.sentence.replaceAll(/'[^']*'/g, "'…'").replaceAll(/\d+/g, 'N');
        tally.sentences.set(shape, (tally.sentences.get(shape) ?? 0) + 1);
      } else tally.wrong.push({ at: word.at, why: outcome.why });
    });
    child.once('close', (code, signal) => {
      clearInterval(watch);
      if (ended) return resolve(to);
      const at = Math.max(from, current);
      tally.wrong.push({ at, why: killedFor || `the process ended (${signal ?? code}): ${words.trim().slice(-300)}` });
      resolve(at + 1);
    });
  });
}

async function run(seed: number, kind: Kind, from: number, count: number): Promise<boolean> {
  const tally: Tally = { taken: 0, refused: 0, wrong: [], sentences: new Map(), longestMs: 0, mostBytes: 0 };
  const started = Date.now();
  let at = from;
  while (at < from + count && tally.wrong.length < 50) at = await runSome(seed, kind, at, from + count, tally);
  console.log(
    `${kind}s: ${count} cases, ${tally.taken} taken, ${tally.refused} refused in words (${tally.sentences.size} different sentences), ${tally.wrong.length} wrong; ` +
      `longest ${tally.longestMs} ms, most memory ${Math.round(tally.mostBytes / 1024 ** 2)} MB, ${Math.round((Date.now() - started) / 1000)} s`,
  );
  for (const [sentence, times] of [...tally.sentences].sort((a, b) => b[1] - a[1]).slice(0, 12))
    console.log(`  ${String(times).padStart(5)} × ${sentence}`);
  for (const { at: place, why } of tally.wrong.slice(0, 20))
    console.error(`WRONG  ${kind} ${place} of seed ${seed}: ${why}`);
  return tally.wrong.length === 0;
}

/** Random requests against the built server. */
async function askServer(seed: number, from: number, count: number): Promise<boolean> {
  const started = Date.now();
  const { asked, byStatus, wrong, longestMs, peakBytes } = await throwAtServer(seed, from, count);
  const statuses = [...byStatus]
    .sort(([a], [b]) => a - b)
    .map(([status, times]) => `${times} × ${status}`)
    .join(', ');
  const tooMuch = peakBytes > MOST_BYTES;
  console.log(
    `requests: ${asked} at the server (${statuses}), ${wrong.length} wrong; longest ${Math.round(longestMs)} ms, most memory ${Math.round(peakBytes / 1024 ** 2)} MB, ${Math.round((Date.now() - started) / 1000)} s`,
  );
  for (const why of wrong) console.error(`WRONG  ${why}`);
  if (tooMuch) console.error(`WRONG  the server held more than ${MOST_BYTES / 1024 ** 2} MB`);
  return wrong.length === 0 && !tooMuch;
}

const { values } = parseArgs({
  options: {
    images: { type: 'string' },
    texts: { type: 'string' },
    archives: { type: 'string' },
    requests: { type: 'string' },
    seed: { type: 'string' },
    from: { type: 'string' },
    to: { type: 'string' },
    child: { type: 'string' },
  },
});
try {
  const seed = wholeArgument('seed', values.seed, { min: 0, max: 2 ** 31, otherwise: 1 });
  const from = wholeArgument('from', values.from, { min: 0, max: 1e9, otherwise: 0 });
  if (values.child === 'image' || values.child === 'text' || values.child === 'archive')
    await beChild(seed, values.child, from, wholeArgument('to', values.to, { min: 0, max: 1e9 }));
  else {
    const images = wholeArgument('images', values.images, { min: 0, max: 1e7, otherwise: 5000 });
    const texts = wholeArgument('texts', values.texts, { min: 0, max: 1e7, otherwise: 2000 });
    const archives = wholeArgument('archives', values.archives, { min: 0, max: 1e7, otherwise: 200 });
    const requests = wholeArgument('requests', values.requests, { min: 0, max: 1e7, otherwise: 2000 });
    const good: boolean[] = [];
    for (const [kind, count] of [
      ['image', images],
      ['text', texts],
      ['archive', archives],
    ] as const)
      if (count > 0) good.push(await run(seed, kind, from, count));
    if (requests > 0) good.push(await askServer(seed, from, requests));
    console.log(good.every(Boolean) ? 'Every case was taken or refused in a sentence.' : 'Some cases went wrong.');
    process.exitCode = good.every(Boolean) ? 0 : 1;
  }
} catch (error) {
  console.error(`fuzz: ${(error as Error).message}`);
  process.exitCode = 2;
}
