/**
 * npm run licences: lists the licence of every installed package, as each says itself, and ends with 1 when one has
 * none or one that nobody here has looked at. Plain JavaScript on Node's own modules. Names are SPDX identifiers
 * (spdx.org/licenses).
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { projectRoot } from './setup.mjs';

/** Licences that ask for no more than their notice. */
const plain = new Set([
  'MIT',
  'MIT-0',
  'ISC',
  'BSD-2-Clause',
  'BSD-3-Clause',
  '0BSD',
  'Apache-2.0',
  'BlueOak-1.0.0',
  'CC0-1.0',
  'CC-BY-4.0',
  'Unlicense',
  'Python-2.0',
  'Zlib',
  'WTFPL',
]);
/** Licences with more to them, each with what that means here. */
const looked = new Map([
  ['LGPL-3.0-or-later', 'used as a library of its own, unchanged, that anybody may replace'],
  ['LGPL-3.0', 'used as a library of its own, unchanged, that anybody may replace'],
  ['MPL-2.0', 'unchanged; used for development or as files of its own'],
  ['EPL-2.0', 'unchanged; comes with the set-up tool and is never run'],
]);
/** What a package's own words mean, where they are no identifier. */
const meant = new Map([
  ['BSD', 'BSD-3-Clause'],
  ['Apache 2.0', 'Apache-2.0'],
  ['Public Domain', 'Unlicense'],
]);

/** Packages that state none in their package.json: as their LICENSE file reads, for that version alone. */
const read = new Map([
  ['seq-queue@0.0.5', 'MIT'],
  ['suncalc@2.0.2', 'BSD-2-Clause'],
]);

/** All packages under a node_modules folder, nested ones and scoped ones included. */
function packagesIn(folder) {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    if (!entry.isDirectory() || entry.name.startsWith('.')) return [];
    const inside = path.join(folder, entry.name);
    if (entry.name.startsWith('@')) return packagesIn(inside);
    const file = path.join(inside, 'package.json');
    const own = existsSync(file) ? [JSON.parse(readFileSync(file, 'utf8'))] : [];
    return [...own, ...packagesIn(path.join(inside, 'node_modules'))];
  });
}

/** The licence a package states, as one expression; empty when it states none. */
export function licenceOf({ name, version, license, licenses }) {
  const told = license ?? (Array.isArray(licenses) ? licenses.map((one) => one.type ?? one).join(' OR ') : licenses);
  const words = typeof told === 'object' && told !== null ? String(told.type ?? '') : String(told ?? '');
  return meant.get(words) ?? (words || (read.get(`${name}@${version}`) ?? ''));
}

/** Whether an expression is made of licences known here: one part of an OR is enough, all of an AND are needed. */
export function isKnown(expression) {
  const words = expression.replaceAll(/[()]/g, ' ').trim();
  if (words === '') return false;
  return words
    .split(/\s+OR\s+/i)
    .some((choice) => choice.split(/\s+AND\s+/i).every((name) => plain.has(name.trim()) || looked.has(name.trim())));
}

function main() {
  const packages = packagesIn(path.join(projectRoot, 'node_modules')).filter((one) => one.name && one.version);
  const byLicence = new Map();
  for (const one of packages) {
    const licence = licenceOf(one);
    byLicence.set(licence, [...(byLicence.get(licence) ?? []), `${one.name}@${one.version}`]);
  }
  const unknown = [];
  for (const [licence, names] of [...byLicence].sort(([, a], [, b]) => b.length - a.length)) {
    const note = looked.get(licence.split(/\s+AND\s+/).find((part) => looked.has(part)) ?? '');
    console.log(
      `${licence || '(none stated)'}: ${names.length}${note || names.length <= 6 || !isKnown(licence) ? ` (${[...new Set(names)].sort().join(', ')})` : ''}${note ? ` — ${note}` : ''}`,
    );
    if (!isKnown(licence)) unknown.push(...names);
  }
  if (unknown.length > 0)
    console.error(
      `licences: expected licences that were looked at, got others: ${[...new Set(unknown)].sort().join(', ')}`,
    );
  process.exitCode = unknown.length > 0 ? 1 : 0;
}

if (process.argv[1] && path.resolve(process.argv[1]) === path.join(projectRoot, 'lib', 'commands', 'licences.mjs'))
  main();
