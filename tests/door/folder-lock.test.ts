import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeEach, expect, test } from 'vitest';
import { FolderInUse, holderOf, holdFolder, holdUnlessServed, isAbandoned, LOCK_FILE } from '@/lib/door/folder-lock';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folders: string[] = [];
let folder: string;
beforeEach(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'swathbook-lock-'));
  folders.push(folder);
});
afterAll(() => folders.forEach((each) => rmSync(each, { recursive: true, force: true })));

const lockOf = (pid: number, born: string | null, use = 'serving') =>
  writeFileSync(path.join(folder, LOCK_FILE), JSON.stringify({ pid, born, use, address: '', key: 'k' }));

test('the second comer is refused in one sentence that says who has the folder and what for', () => {
  lockOf(process.ppid, null, 'restoring');
  expect(() => holdFolder(folder, 'serving')).toThrow(
    `Expected a data folder that nobody else uses, got ${folder}: process ${process.ppid} restores an archive into it.`,
  );
  expect(holderOf(folder)?.pid).toBe(process.ppid);
});

test('one process can’t hold a folder twice, and what it holds is free once released', () => {
  const hold = holdFolder(folder, 'restoring');
  expect(() => holdFolder(folder, 'restoring')).toThrow(FolderInUse);
  hold.release();
  holdFolder(folder, 'serving').release();
  expect(readdirSync(folder)).toEqual([]);
});

test('a lock counts for nothing once its process is gone, is another of the same number, or was never written whole', () => {
  for (const stale of [
    () => lockOf(2 ** 22 + 1, null),
    () => lockOf(process.ppid, 'another start'),
    () => writeFileSync(path.join(folder, LOCK_FILE), '{"pid":'),
  ]) {
    stale();
    expect([isAbandoned(folder), holderOf(folder)]).toEqual([true, null]);
    holdFolder(folder, 'serving').release();
  }
});

test('a killed process leaves a lock that the next one takes over', () => {
  const script = `import { holdFolder } from './lib/door/folder-lock.ts'; holdFolder(process.argv[1], 'serving'); process.kill(process.pid, 'SIGKILL');`;
  spawnSync(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', script, folder], { cwd: root });
  expect(existsSync(path.join(folder, LOCK_FILE))).toBe(true);
  holdFolder(folder, 'serving').release();
});

test('a server’s archive goes on beside it, but beside nothing else', () => {
  lockOf(process.ppid, null, 'serving');
  expect(holdUnlessServed(folder, 'archiving')).toBeNull();
  lockOf(process.ppid, null, 'restoring');
  expect(() => holdUnlessServed(folder, 'archiving')).toThrow(FolderInUse);
});

test('a hold is handed on to the process that knows its key, and the first one’s end leaves it alone', () => {
  const first = holdFolder(folder, 'serving');
  const second = holdFolder(folder, 'serving', { address: 'http://here', from: first.key });
  first.release();
  expect(JSON.parse(readFileSync(path.join(folder, LOCK_FILE), 'utf8'))).toMatchObject({
    address: 'http://here',
    key: second.key,
  });
  second.release();
  expect(existsSync(path.join(folder, LOCK_FILE))).toBe(false);
});

test('of many that find the same dead lock at once exactly one gets the folder', { timeout: 60_000 }, async () => {
  const contender = path.join(root, 'tests', 'support', 'lock-contender.ts');
  lockOf(2 ** 22 + 1, null);
  const children = Array.from({ length: 5 }, () =>
    spawn(process.execPath, ['--import', 'tsx', contender, folder], { cwd: root, stdio: ['pipe', 'pipe', 'inherit'] }),
  );
  const words = children.map(() => '');
  const saying = (is: (word: string) => boolean) =>
    Promise.all(
      children.map(
        (child, index) =>
          new Promise<void>((resolve) => {
            const look = () => is(words[index] as string) && resolve();
            child.stdout.on('data', look);
            look();
          }),
      ),
    );
  children.forEach((child, index) => child.stdout.on('data', (chunk: Buffer) => (words[index] += chunk.toString())));
  await saying((word) => word.startsWith('ready '));
  for (const child of children) child.stdin.write('!');
  await saying((word) => word.length > 'ready '.length);
  const ended = Promise.all(children.map((child) => new Promise((resolve) => child.once('close', resolve))));
  for (const child of children) child.stdin.end();
  await ended;
  expect(words.toSorted()).toEqual(['ready mine', ...Array<string>(4).fill('ready refused')]);
});
