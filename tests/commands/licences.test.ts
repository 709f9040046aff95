import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const ask = (script: string) =>
  spawnSync(
    process.execPath,
    ['--input-type=module', '-e', `import { isKnown, licenceOf } from './lib/commands/licences.mjs'; ${script}`],
    { cwd: root, encoding: 'utf8' },
  ).stdout;

test('a licence is known by all its parts, or by one of a choice (SPDX expressions)', () => {
  const expressions = [
    'MIT',
    '(MIT OR GPL-3.0-only)',
    'MIT AND ISC',
    'MIT AND GPL-3.0-only',
    'GPL-3.0-only',
    '',
    'SEE LICENSE IN LICENSE',
    'UNLICENSED',
  ];
  expect(JSON.parse(ask(`console.log(JSON.stringify(${JSON.stringify(expressions)}.map(isKnown)))`))).toEqual([
    true,
    true,
    true,
    false,
    false,
    false,
    false,
    false,
  ]);
  expect(ask(`console.log(licenceOf({ name: 'x', version: '1', licenses: [{ type: 'MIT' }, { type: 'ISC' }] }))`)).toBe(
    'MIT OR ISC\n',
  );
});

test('every installed package has a licence that was looked at, the LGPL ones named', () => {
  const listed = spawnSync(process.execPath, ['lib/commands/licences.mjs'], { cwd: root, encoding: 'utf8' });
  expect(listed.stderr).toBe('');
  expect(listed.status).toBe(0);
  expect(listed.stdout).toMatch(/LGPL-3\.0-or-later: .*sharp-libvips/);
  expect(listed.stdout).toMatch(/LGPL-3\.0: .*libheif-js/);
});
