import 'server-only';
import { mkdir, readdir, readFile, stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { decodePhoto } from '../darkroom/decode';
import { focalOf } from '../darkroom/exif';
import { parseOutlinesFile, type OutlinesFile } from '../forms/outlines-file';
import { isSimple } from '../photo/raster/region';
import { alignAndCompare, type ComparedPair } from '../work/photos/compare-photos';
import { compareMany } from '../work/photos/comparer';

/** npm run -s compare: what changed between two photos of the same plots, without server or database. */
const USAGE = `Usage: npm run -s compare -- BEFORE AFTER --outlines FILE [--out DIR] [--json]
       npm run -s compare -- FOLDER [--outlines FILE] [--out DIR] [--json]

BEFORE, AFTER  two photos of the same plots, from about the same place
--outlines     JSON: { "plots": [ { "id": "A", "check": true, "corners": [[x,y] x 4], "cornersAfter": [[x,y] x 4]?,
               "groundMetres": [[x,y] x 4]? } ], "greyCard": { "before"?, "after"? }?, "chart": { "before"?, "after"? }? }
               corners in pixels of the upright earlier photo: far-left, far-right, near-right, near-left; cornersAfter
               (taps in the later photo) are used when the photos cannot be lined up by themselves
FOLDER         a pair in every folder below it that holds before.* and after.*, with its own outlines.json (else FILE);
               a pair that fails is reported and the rest is finished
--out DIR      also writes each pair's result to DIR/NAME.json
--json         prints the result (a list for a folder); without it a short text`;

const PHOTO_NAME = /\.(jpe?g|png|webp|tiff?|avif|hei[cf])$/i;

interface Job {
  readonly name: string;
  readonly before: string;
  readonly after: string;
  readonly outlines: string;
}

type Outcome =
  | { readonly name: string; readonly result: ComparedPair }
  | { readonly name: string; readonly error: string };

/** @returns the exit code: 0 when all went well, 1 when some pair failed, 2 when it was called wrongly */
async function main(args: readonly string[]): Promise<number> {
  let asked;
  try {
    asked = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        outlines: { type: 'string' },
        out: { type: 'string' },
        json: { type: 'boolean' },
        help: { type: 'boolean', short: 'h' },
      },
    });
  } catch (error) {
    console.error(`${(error as Error).message}\n${USAGE}`);
    return 2;
  }
  const { positionals, values } = asked;
  if (values.help === true) {
    console.log(USAGE);
    return 0;
  }
  const jobs = await jobsFor(positionals, values.outlines);
  if (typeof jobs === 'string') {
    console.error(`${jobs}\n${USAGE}`);
    return 2;
  }
  if (values.out !== undefined) await mkdir(values.out, { recursive: true });
  const outcomes: Outcome[] = [];
  for await (const outcome of jobs.length === 1 ? [await runJob(jobs[0]!)] : runJobs(jobs)) {
    outcomes.push(outcome);
    if ('error' in outcome) console.error(`${outcome.name}: ${outcome.error}`);
    else if (values.out !== undefined)
      await writeFile(path.join(values.out, `${outcome.name}.json`), `${JSON.stringify(outcome.result, null, 2)}\n`);
    if (values.json !== true && 'result' in outcome) console.log(asText(outcome.name, outcome.result));
  }
  if (values.json === true) {
    const single = positionals.length === 2;
    const printed = outcomes.map((o) =>
      'error' in o ? { pair: o.name, error: o.error } : single ? o.result : { pair: o.name, ...o.result },
    );
    console.log(JSON.stringify(single ? printed[0] : printed, null, 2));
  }
  return outcomes.some((o) => 'error' in o) ? 1 : 0;
}

/** The pairs asked for, or one sentence that says what was expected. */
async function jobsFor(positionals: readonly string[], outlines: string | undefined): Promise<Job[] | string> {
  if (positionals.length === 2) {
    if (outlines === undefined)
      return 'Expected --outlines FILE with the plots’ corners in the earlier photo, got none.';
    const [before, after] = positionals as [string, string];
    return [{ name: path.basename(path.dirname(path.resolve(after))), before, after, outlines }];
  }
  if (positionals.length !== 1) return `Expected two photos or one folder, got ${positionals.length} names.`;
  const [folder] = positionals as [string];
  const isFolder = await stat(folder).then(
    (s) => s.isDirectory(),
    () => false,
  );
  if (!isFolder) return `Expected a folder of pairs, found none at '${folder}'.`;
  const below = (await readdir(folder, { withFileTypes: true }))
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort();
  const jobs: Job[] = [];
  for (const name of ['', ...below]) {
    const job = await pairIn(
      path.join(folder, name),
      name === '' ? path.basename(path.resolve(folder)) : name,
      outlines,
    );
    if (job !== null) jobs.push(job);
  }
  return jobs.length > 0 ? jobs : `Expected folders with before.* and after.* below '${folder}', found none.`;
}

async function pairIn(folder: string, name: string, fallback: string | undefined): Promise<Job | null> {
  const files = await readdir(folder);
  const photo = (stem: string): string | undefined =>
    files.find((file) => PHOTO_NAME.test(file) && path.parse(file).name.toLowerCase() === stem);
  const [before, after] = [photo('before'), photo('after')];
  if (before === undefined && after === undefined) return null;
  return {
    name,
    before: path.join(folder, before ?? 'before.jpg'),
    after: path.join(folder, after ?? 'after.jpg'),
    outlines: files.includes('outlines.json') || fallback === undefined ? path.join(folder, 'outlines.json') : fallback,
  };
}

async function runJob({ name, before, after, outlines }: Job): Promise<Outcome> {
  try {
    const asked = await readOutlines(outlines);
    if (typeof asked === 'string') return { name, error: asked };
    const [earlier, later] = await Promise.all([decodePhoto(before), decodePhoto(after)]);
    return {
      name,
      result: alignAndCompare(earlier.pixels, later.pixels, asked, {
        focal: [await focalOf(before, earlier), await focalOf(after, later)],
      }),
    };
  } catch (error) {
    return { name, error: (error as Error).message };
  }
}

/** Many pairs, one a processor at a time, in their order. */
async function* runJobs(jobs: readonly Job[]): AsyncGenerator<Outcome> {
  const read = await Promise.all(jobs.map(({ outlines }) => readOutlines(outlines)));
  const answers = compareMany(
    jobs.flatMap(({ before, after }, k) =>
      typeof read[k] === 'string' ? [] : [{ before, after, outlines: read[k]! }],
    ),
  );
  for (const [k, { name }] of jobs.entries()) {
    const asked = read[k]!;
    if (typeof asked === 'string') {
      yield { name, error: asked };
      continue;
    }
    const { value } = await answers.next();
    yield value && 'compared' in value
      ? { name, result: value.compared }
      : { name, error: value?.failed ?? 'it was not compared' };
  }
  await answers.return(undefined);
}

async function readOutlines(file: string): Promise<OutlinesFile | string> {
  let text: string;
  try {
    text = await readFile(file, 'utf8');
  } catch {
    return `Expected an outlines file at '${file}', found none that can be read.`;
  }
  const result = parseOutlinesFile(text);
  if (!result.ok) return result.sentence;
  const crossed = result.outlines.plots.find(
    (plot) => !isSimple(plot.corners) || (plot.cornersAfter !== undefined && !isSimple(plot.cornersAfter)),
  );
  if (crossed !== undefined)
    return `Outlines file, plot '${crossed.id}': expected four corners in order round the plot, got an outline that crosses itself or has no area.`;
  return result.outlines;
}

function signed(v: number): string {
  return `${v < 0 ? '−' : '+'}${Math.abs(v).toFixed(4)}`;
}

function asText(name: string, { registration, strips, patches, cautions }: ComparedPair): string {
  return [
    `${name}: lined up ${registration.status === 'ok' ? 'by itself' : 'by taps'}, confidence ${registration.confidence.toFixed(2)}`,
    ...strips.map((s) => {
      if (s.refused !== undefined) return `  ${s.id}: ${s.refused}`;
      if (s.diffMinusCheck === null) return `  ${s.id}: check`;
      return `  ${s.id}: change against check ${signed(s.diffMinusCheck)}${s.ci95 === null ? '' : ` (95% ${signed(s.ci95[0])} to ${signed(s.ci95[1])})`}`;
    }),
    ...patches.map(
      (p) =>
        `  ${p.new ? 'New' : 'Old'} mark in ${p.strip}: ${p.kind}, ${(100 * p.areaShareStrip).toFixed(1)}% of the plot`,
    ),
    ...cautions.map((c) => `  Caution: ${c.sentence}`),
  ].join('\n');
}

process.exitCode = await main(process.argv.slice(2));
