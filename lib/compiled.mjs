/**
 * The project's TypeScript as Node runs it outside Next: bundled once into build/, in a folder named after the state of
 * its sources, so that what runs is never older than what is written. A command then starts in a fraction of the second
 * that reading hundreds of files as TypeScript takes. Plain JavaScript on Node's own modules; the compiler is loaded
 * when there is work for it.
 */
import { createHash, randomUUID } from 'node:crypto';
import { existsSync, readdirSync, renameSync, rmSync, statSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));
const buildFolder = path.join(root, 'build');
/** What is started by itself: each command, and what worker threads run. */
const workers = ['lib/darkroom/scorer-worker.ts', 'lib/work/photos/comparer-worker.ts'];
/**
 * Packages that bring native code, other files or threads of their own stay where they are; all others go into the
 * bundle.
 */
const external = [
  '@img/*',
  '@prisma/*',
  'prisma',
  'better-sqlite3',
  'sqlite3',
  'tinypool',
  'heic-decode',
  'pino',
  'next',
  'esbuild',
  'assemblyscript',
];
/** A build this old that is not among the last few: no process runs from it any more. */
const KEEP_MS = 24 * 3_600_000;
const KEEP = 3;

/** Every file whose change makes another build, with its size and time. */
function stateOf(entry) {
  const full = path.join(root, entry);
  const stat = statSync(full, { throwIfNoEntry: false });
  if (stat === undefined) return '';
  if (!stat.isDirectory()) return `${entry} ${stat.size} ${stat.mtimeMs}\n`;
  return readdirSync(full, { withFileTypes: true })
    .map((below) => (below.isDirectory() || /\.(ts|mjs)$/.test(below.name) ? stateOf(`${entry}/${below.name}`) : ''))
    .join('');
}

function currentFolder() {
  const state = ['lib', 'package-lock.json', 'tsconfig.json'].map(stateOf).join('');
  return path.join(buildFolder, createHash('sha256').update(state).digest('hex').slice(0, 16));
}

/**
 * The folder with the compiled code, made when there is none of these sources. A process and all that it starts keep to
 * one build: SWATHBOOK_COMPILED says which, so that sources changed under a running server don't change half of it.
 */
async function compiledFolder() {
  const given = process.env.SWATHBOOK_COMPILED;
  if (given !== undefined && path.dirname(given) === buildFolder && existsSync(given)) return given;
  const folder = currentFolder();
  if (!existsSync(folder)) await compileInto(folder);
  process.env.SWATHBOOK_COMPILED = folder;
  return folder;
}

async function compileInto(folder) {
  const { build } = await import('esbuild');
  const making = path.join(buildFolder, `.making-${randomUUID()}`);
  const commands = readdirSync(path.join(root, 'lib/commands'), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => `lib/commands/${name.split(path.sep).join('/')}`);
  try {
    await build({
      absWorkingDir: root,
      entryPoints: [...commands, ...workers],
      outdir: making,
      outbase: '.',
      outExtension: { '.js': '.mjs' },
      bundle: true,
      splitting: true,
      format: 'esm',
      platform: 'node',
      target: 'node20',
      conditions: ['react-server'],
      alias: { 'server-only': './node_modules/server-only/empty.js' },
      external,
      sourcemap: 'linked',
      sourcesContent: false,
      logLevel: 'warning',
      // What packages written for require() ask of it.
      banner: {
        js: "import { createRequire as __createRequire } from 'node:module'; const require = __createRequire(import.meta.url);",
      },
    });
    renameSync(making, folder);
  } catch (error) {
    // Whoever compiled the same sources at the same time was first.
    if (!existsSync(folder)) throw error;
  } finally {
    rmSync(making, { recursive: true, force: true });
  }
  clearOld(folder);
}

function clearOld(newest) {
  const old = readdirSync(buildFolder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && path.join(buildFolder, entry.name) !== newest)
    .map((entry) => ({
      full: path.join(buildFolder, entry.name),
      at: statSync(path.join(buildFolder, entry.name), { throwIfNoEntry: false })?.mtimeMs ?? 0,
    }))
    .sort((a, b) => b.at - a.at);
  for (const { full, at } of old.slice(KEEP - 1))
    if (Date.now() - at > KEEP_MS) rmSync(full, { recursive: true, force: true });
}

/** Loads a compiled module by the name of its source, as 'lib/commands/measure'. */
export async function importCompiled(source) {
  return import(pathToFileURL(path.join(await compiledFolder(), `${source}.mjs`)).href);
}
