/**
 * What a bare clone needs before anything can run, each step skipped when it is already done.
 * Plain JavaScript on Node's own modules: it runs before anything is installed.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

export const projectRoot = fileURLToPath(new URL('../..', import.meta.url));

/** How Node runs a command of this project's TypeScript. */
export const commandNamed = (name) => ['lib/commands/run.mjs', name];

const inProject = (...parts) => path.join(projectRoot, ...parts);

function run(command, args, { speaks = false, ...options } = {}) {
  const done = spawnSync(command, args, { cwd: projectRoot, stdio: 'inherit', ...options });
  if (done.status !== 0) {
    // A step of ours has said what is wrong in its own sentence.
    if (speaks) process.exit(done.status ?? 1);
    console.error(
      `swathbook: expected '${[command, ...args].join(' ')}' to succeed, got exit code ${done.status ?? done.signal}`,
    );
    process.exit(done.status ?? 1);
  }
}

function hashOf(files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(file).update(fs.readFileSync(inProject(file)));
  return hash.digest('hex');
}

/** Does `work` unless the stamp file already holds this hash. */
function onceFor(stampName, hash, work) {
  const stamp = inProject('node_modules', stampName);
  if (fs.existsSync(stamp) && fs.readFileSync(stamp, 'utf8') === hash) return;
  work();
  fs.writeFileSync(stamp, hash);
}

function requireNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major < 20 || (major === 20 && minor < 19)) {
    console.error(`swathbook: expected Node 20.19 or newer, got ${process.versions.node}`);
    process.exit(1);
  }
}

function installPackages() {
  onceFor('.swathbook-packages', hashOf(['package-lock.json']), () => {
    console.log('Installing the pinned packages (two of them compile: a few minutes the first time) …');
    run('npm', ['ci', '--include=dev', '--no-audit', '--no-fund']);
  });
}

/** Generating needs no engine, only that the variable names a file: so nothing is downloaded. */
const generate = (folder) =>
  run('npx', ['prisma', 'generate', '--config', `${folder}/prisma.config.ts`], {
    stdio: ['ignore', 'ignore', 'inherit'],
    env: { ...process.env, PRISMA_SCHEMA_ENGINE_BINARY: inProject('package.json'), PRISMA_HIDE_UPDATE_MESSAGE: '1' },
  });

function generateClient() {
  onceFor('.swathbook-client', hashOf(['prisma/schema.prisma', 'package-lock.json']), () => generate('prisma'));
}

/** The client for a diary on PostgreSQL: made where one is asked for. */
export function generateServerClient() {
  onceFor('.swathbook-client-postgresql', hashOf(['prisma/postgresql/schema.prisma', 'package-lock.json']), () =>
    generate('prisma/postgresql'),
  );
}

/**
 * Whether the diary's file has been through every migration already: then none need be started. Anything else (no file,
 * another database, a restore that a stop cut short, whatever can't be read) is left to the command that knows.
 */
function isMigrated() {
  const folder = path.resolve(projectRoot, process.env.SWATHBOOK_DATA ?? 'data');
  const file = path.join(folder, 'diary.db');
  if (
    process.env.SWATHBOOK_DATABASE ||
    !fs.existsSync(file) ||
    ['restoring.json', 'diary.db.migrating'].some((name) => fs.existsSync(path.join(folder, name)))
  )
    return false;
  try {
    const Database = createRequire(import.meta.url)('better-sqlite3');
    const database = new Database(file, { readonly: true, fileMustExist: true });
    try {
      const rows = database
        .prepare(
          'SELECT migration_name AS name, finished_at AS at FROM _prisma_migrations WHERE rolled_back_at IS NULL',
        )
        .all();
      const done = new Set(rows.flatMap(({ name, at }) => (at === null ? [] : [name])));
      const known = fs
        .readdirSync(inProject('prisma/migrations'), { withFileTypes: true })
        .filter((entry) => entry.isDirectory());
      return rows.every(({ at }) => at !== null) && known.every((entry) => done.has(entry.name));
    } finally {
      database.close();
    }
  } catch {
    return false;
  }
}

export function migrate() {
  if (!isMigrated()) run(process.execPath, commandNamed('migrate'), { speaks: true });
}

function newestChange(entry) {
  const full = inProject(entry);
  if (!fs.existsSync(full)) return 0;
  const stat = fs.statSync(full);
  if (!stat.isDirectory()) return stat.mtimeMs;
  return Math.max(stat.mtimeMs, ...fs.readdirSync(full).map((name) => newestChange(path.join(entry, name))));
}

export function buildWhenStale() {
  const built = inProject('.next/BUILD_ID');
  const builtAt = fs.existsSync(built) ? fs.statSync(built).mtimeMs : 0;
  const sources = [
    'app',
    'lib',
    'public',
    'prisma/schema.prisma',
    'package-lock.json',
    'next.config.mjs',
    'tsconfig.json',
  ];
  if (Math.max(...sources.map(newestChange)) <= builtAt) return;
  console.log('Building the pages …');
  run('npx', ['next', 'build'], { env: { ...process.env, NEXT_TELEMETRY_DISABLED: '1', NODE_ENV: 'production' } });
}

export function prepare() {
  requireNode();
  installPackages();
  generateClient();
  if (process.env.SWATHBOOK_DATABASE) generateServerClient();
}
