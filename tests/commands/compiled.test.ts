import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';

/** A small project of the same shape: the code under test is copied, so that nothing of the real build is touched. */
let root: string;
const run = (name: string, env: Record<string, string> = {}) => {
  const { SWATHBOOK_COMPILED: _, ...rest } = process.env;
  return spawnSync(process.execPath, [path.join(root, 'lib/commands/run.mjs'), name, 'one', '--two'], {
    cwd: root,
    encoding: 'utf8',
    env: { ...rest, ...env },
  });
};
const builds = () => readdirSync(path.join(root, 'build')).filter((name) => !name.startsWith('.'));

beforeAll(() => {
  root = mkdtempSync(path.join(tmpdir(), 'compiled-'));
  for (const folder of ['lib/commands', 'lib/darkroom', 'lib/work/photos'])
    mkdirSync(path.join(root, folder), { recursive: true });
  symlinkSync(path.resolve('node_modules'), path.join(root, 'node_modules'));
  for (const file of ['lib/compiled.mjs', 'lib/commands/run.mjs']) cpSync(file, path.join(root, file));
  writeFileSync(
    path.join(root, 'tsconfig.json'),
    JSON.stringify({ compilerOptions: { target: 'ES2022', paths: { '@/*': ['./*'] } } }),
  );
  for (const worker of ['lib/darkroom/scorer-worker.ts', 'lib/work/photos/comparer-worker.ts'])
    writeFileSync(path.join(root, worker), 'export default 1;\n');
  writeFileSync(path.join(root, 'lib/words.ts'), "import 'server-only';\nexport const words: string = 'first';\n");
  writeFileSync(
    path.join(root, 'lib/commands/say.ts'),
    "import { words } from '@/lib/words';\nconsole.log(words, process.argv.slice(2).join(' '));\n",
  );
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

test('a command runs compiled with its own arguments; server-only and the alias of the root are understood', () => {
  const said = run('say');
  expect([said.stdout, said.stderr, said.status]).toEqual(['first one --two\n', '', 0]);
  expect(builds().length).toBe(1);
});

test('unchanged sources are not compiled again; changed ones are, whatever their age', () => {
  const [only] = builds();
  run('say');
  expect(builds()).toEqual([only]);
  writeFileSync(path.join(root, 'lib/words.ts'), "export const words: string = 'second, longer';\n");
  execFileSync('touch', ['-d', '2001-01-01', path.join(root, 'lib/words.ts')]);
  expect(run('say').stdout).toBe('second, longer one --two\n');
});

test('what a process starts keeps to its build, though the sources have changed', () => {
  const before = builds();
  run('say');
  const named = path.join(root, 'build', before[0] as string);
  const first = run('say', { SWATHBOOK_COMPILED: named }).stdout;
  writeFileSync(path.join(root, 'lib/words.ts'), "export const words: string = 'third';\n");
  expect(run('say', { SWATHBOOK_COMPILED: named }).stdout).toBe(first);
  expect(run('say', { SWATHBOOK_COMPILED: '/somewhere/else' }).stdout).toBe('third one --two\n');
});

test('a source that cannot be compiled is an error, and leaves no half build', () => {
  writeFileSync(path.join(root, 'lib/words.ts'), 'export const words = ;\n');
  const before = readdirSync(path.join(root, 'build')).length;
  expect(run('say').status).not.toBe(0);
  expect(readdirSync(path.join(root, 'build')).length).toBe(before);
});

test('a name that is no command gets a sentence', () => {
  for (const name of ['nothing', '../say', ''])
    expect(run(name).stderr).toMatch(/^swathbook: expected the name of a command in lib\/commands, got '.*'\n$/);
});
