import fs from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

/** The ring table of DEVELOPERS.md as a test: an arrow between folders may only point inwards. */

const root = path.resolve(import.meta.dirname, '..');
const pure0 = ['lib/expect.ts', 'lib/units'];
/** The request that is being answered: known to the front and to whoever finds that it can't be served. */
const visit = ['lib/visit.ts'];
const pure1 = ['lib/stats', 'lib/colour'];
const pure2 = ['lib/photo', 'lib/spray', 'lib/water', 'lib/weather', 'lib/trial'];
/**
 * Brings spray, water and weather together for a plan; as pure as they are, so that browser and server give one answer.
 */
const purePlan = ['lib/plan'];
/** What the record and the photos say, told in words: why a mark came, what to do next time, the answer. */
const pureExplain = ['lib/explain'];
const pure = [...pure0, ...pure1, ...pure2, ...purePlan, ...pureExplain];
const doors = ['lib/forms', 'lib/darkroom', 'lib/lineup', 'lib/station', 'lib/diary', 'lib/archive', 'lib/door'];

/** Which folders of ours each folder may import, beside itself. */
const mayImport: Record<string, string[]> = {
  'lib/expect.ts': [],
  'lib/units': ['lib/expect.ts'],
  'lib/stats': pure0,
  'lib/colour': [...pure0, 'lib/stats'],
  ...Object.fromEntries(pure2.map((folder) => [folder, [...pure0, ...pure1]])),
  'lib/plan': [...pure0, 'lib/spray', 'lib/water', 'lib/weather'],
  'lib/explain': [...pure0, ...pure1, ...pure2],
  // The demo draws a lawn with the science of several folders; nothing but the work of seeding it may import it.
  'lib/demo': pure,
  'lib/forms': [...pure, ...visit],
  'lib/darkroom': pure,
  'lib/lineup': pure,
  'lib/station': pure,
  'lib/visit.ts': [],
  'lib/diary': [...pure, ...visit],
  'lib/archive': pure,
  'lib/door': [...pure, ...visit],
  'lib/work': [...pure, ...doors, ...visit, 'lib/demo'],
  'lib/commands': [...pure, ...doors, 'lib/demo', 'lib/work'],
  app: [...pure, ...visit, 'lib/forms', 'lib/diary', 'lib/work'],
};

/** Packages that only the folders named may import; any other package is free to folders outside the pure rings. */
const packageHomes: Record<string, string[]> = {
  zod: ['lib/forms'],
  'csv-parse': ['lib/forms'],
  sharp: ['lib/darkroom', 'lib/demo'],
  exifr: ['lib/darkroom'],
  'heic-decode': ['lib/darkroom'],
  tinypool: ['lib/darkroom', 'lib/work'],
  yazl: ['lib/archive'],
  yauzl: ['lib/archive'],
  sqlite3: ['lib/archive'],
  pino: ['lib/commands'],
  '@prisma/client': ['lib/diary'],
  '@prisma/adapter-pg': ['lib/diary'],
  'pg-boss': ['lib/diary'],
  aws4fetch: ['lib/darkroom'],
  '@prisma/adapter-better-sqlite3': ['lib/diary'],
  '@prisma/driver-adapter-utils': ['lib/diary'],
  next: ['app'],
  react: ['app'],
  'react-chartjs-2': ['app'],
  'chart.js': ['app'],
};
const purePackages: Record<string, string[]> = {
  'lib/colour': ['culori'],
  'lib/stats': ['jstat', 'ml-matrix'],
  'lib/weather': ['suncalc'],
};

interface Source {
  file: string;
  folder: string;
  text: string;
  imports: string[];
}

function folderOf(file: string): string | undefined {
  return Object.keys(mayImport).find((folder) => file === folder || file.startsWith(`${folder}/`));
}

function readSources(folder: string): Source[] {
  return fs.readdirSync(path.join(root, folder), { recursive: true, encoding: 'utf8' }).flatMap((name) => {
    const file = path.posix.join(folder, name.split(path.sep).join('/'));
    if (!/\.tsx?$/.test(file) || file.endsWith('.d.ts')) return [];
    const text = fs.readFileSync(path.join(root, file), 'utf8');
    const statements = /^(?:import|export)\b[^;]*?\bfrom\s+'([^']+)'|^import\s+'([^']+)'|\bimport\('([^']+)'\)/gm;
    const imports = [...text.matchAll(statements)].map(([, from, bare, lazy]) => (from ?? bare ?? lazy) as string);
    return [{ file, folder: folderOf(file) ?? '(none)', text, imports }];
  });
}

const sources = [...readSources('lib'), ...readSources('app')];

/** A specifier as a path from the root when it is ours, else null. */
function ownPath(from: Source, specifier: string): string | null {
  if (specifier.startsWith('@/')) return specifier.slice(2);
  if (specifier.startsWith('.')) return path.posix.join(path.posix.dirname(from.file), specifier);
  return null;
}

const packageOf = (specifier: string) =>
  specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');

describe('the rings', () => {
  test('every source file lies in a folder of the ring table', () => {
    expect(sources.filter((source) => source.folder === '(none)').map((source) => source.file)).toEqual([]);
    expect(sources.length).toBeGreaterThan(50);
  });

  test('no folder imports one further out', () => {
    const wrong = sources.flatMap((source) =>
      source.imports.flatMap((specifier) => {
        const target = ownPath(source, specifier);
        if (target === null || target.endsWith('.css')) return [];
        const folder = folderOf(target) ?? folderOf(`${target}.ts`);
        if (folder === source.folder || (folder && mayImport[source.folder]?.includes(folder))) return [];
        return [`${source.file} imports ${specifier}`];
      }),
    );
    expect(wrong).toEqual([]);
  });

  test('zod, sharp, Prisma, Next and React stay in their own folders', () => {
    const wrong = sources.flatMap((source) =>
      source.imports.flatMap((specifier) => {
        if (ownPath(source, specifier) !== null) return [];
        const homes = packageHomes[packageOf(specifier)];
        return homes && !homes.includes(source.folder) ? [`${source.file} imports ${specifier}`] : [];
      }),
    );
    expect(wrong).toEqual([]);
  });

  test('pure science imports no package that reaches outside, and asks neither clock nor chance', () => {
    const wrong = sources
      .filter((source) => pure.includes(source.folder))
      .flatMap((source) => [
        ...source.imports
          .filter(
            (specifier) =>
              ownPath(source, specifier) === null && !purePackages[source.folder]?.includes(packageOf(specifier)),
          )
          .map((specifier) => `${source.file} imports ${specifier}`),
        ...(/\bDate\.now\(|\bMath\.random\(|\bnew Date\(\)|\bprocess\.|\bperformance\./.test(
          source.text.replaceAll(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, ''),
        )
          ? [`${source.file} asks the clock, chance or the environment`]
          : []),
      ]);
    expect(wrong).toEqual([]);
  });

  test('whatever touches files, the database or the network is kept out of the browser', () => {
    const wrong = sources
      .filter((source) =>
        ['lib/darkroom', 'lib/lineup', 'lib/station', 'lib/diary', 'lib/archive', 'lib/work'].includes(source.folder),
      )
      .filter((source) => !/^(?:\/\*[\s\S]*?\*\/\s*|\/\/.*\n)*import 'server-only';/.test(source.text))
      .map((source) => source.file);
    expect(wrong).toEqual([]);
  });

  test('there are no barrel files and no catch-all folders', () => {
    const wrong = sources
      .filter((source) => /(^|\/)(index\.tsx?|utils?|helpers?|misc|types)(\/|\.tsx?|$)/.test(source.file))
      .map((source) => source.file);
    expect(wrong).toEqual([]);
  });

  test('a "use server" file exports async functions only', () => {
    const wrong = sources
      .filter((source) => source.text.startsWith("'use server'"))
      .filter((source) => [...source.text.matchAll(/^export (?!async function|type )/gm)].length > 0)
      .map((source) => source.file);
    expect(wrong).toEqual([]);
  });

  test('every action looks at all it was given before anything else', () => {
    const wrong = sources
      .filter((source) => source.text.startsWith("'use server'"))
      .flatMap((source) =>
        [...source.text.matchAll(/^export async function (\w+)\(([^)]*)\)[^{]*\{\n(.*)$/gm)].map(
          ([, name, given, first]) => ({ file: source.file, name, given: given ?? '', first: first ?? '' }),
        ),
      )
      .filter(({ given, first }) => {
        const names = [...given.matchAll(/(\w+)\s*:/g)]
          .map(([, name]) => name as string)
          .filter((name) => !/^_?previous$/.test(name));
        return !first.startsWith('  expectCall(') || !names.every((name) => new RegExp(`\\b${name}\\b`).test(first));
      })
      .map(({ file, name }) => `${file}: ${name}`);
    expect(wrong).toEqual([]);
  });

  /**
   * What holds nothing of one lawn or person: the health check, how the numbers are made, and what a link or token
   * opens by itself.
   */
  const asksNobody = /^app\/(?:@(?:head|foot)\/|shared\/|methods\/|api\/health\/)/;

  test('every action asks for a right on every entry it is given, right after it has looked at what that is', () => {
    const actions = sources
      .filter((source) => source.text.startsWith("'use server'"))
      .flatMap((source) =>
        [...source.text.matchAll(/^export async function (\w+)\([^)]*\)[^{]*\{\n(.*)\n(.*)$/gm)].map(
          ([, name, looks, asks]) => ({ action: `${source.file}: ${name}`, looks: looks ?? '', asks: asks ?? '' }),
        ),
      );
    expect(actions.length).toBeGreaterThan(45);
    const wrong = actions.filter(({ looks, asks }) => {
      if (!asks.startsWith('  await expectRight(')) return true;
      if (/'(?:diary|some-lawn|own)'\);$/.test(asks)) return false;
      const given = [...looks.matchAll(/(?:ids|optionalIds): \[([^\]]*)\]/gi)]
        .flatMap(([, names]) => (names ?? '').split(',').map((name) => name.trim()))
        .filter((name) => name !== '');
      return (
        !given.every((name) => new RegExp(`: ${name}\\b`).test(asks)) ||
        (given.length === 0 && !/idOf\(|\.\.\./.test(asks))
      );
    });
    expect(wrong.map(({ action }) => action)).toEqual([]);
  });

  test('every route asks for a right in each of its methods, or for the lawn one may look at', () => {
    const methods = sources
      .filter((source) => /\/route\.tsx?$/.test(source.file) && !asksNobody.test(source.file))
      .flatMap((source) =>
        source.text
          .split(/^(?=export (?:async )?function )/m)
          .slice(1)
          .map((text) => ({ method: `${source.file}: ${/function (\w+)/.exec(text)?.[1]}`, text })),
      );
    expect(methods.length).toBeGreaterThan(15);
    expect(
      methods.filter(({ text }) => !/await (?:expectRight|currentLawn)\(/.test(text)).map(({ method }) => method),
    ).toEqual([]);
  });

  test('every page asks for a right, or for the lawn one may look at; one of a single entry asks for that entry', () => {
    const pages = sources.filter((source) => source.file.endsWith('/page.tsx') && !asksNobody.test(source.file));
    expect(pages.length).toBeGreaterThan(35);
    const wrong = pages.filter(({ file, text }) =>
      file.includes('[id]')
        ? !/await askPage\('\w+', (?:\{ \w+: \(await params\)\.id|'some-lawn')/.test(text)
        : !/(?:askPage|currentLawn|mayDo)\(/.test(text),
    );
    expect(wrong.map(({ file }) => file)).toEqual([]);
  });

  test('nobody else decides about rights', () => {
    const wrong = sources.filter(
      (source) =>
        ![
          'lib/visit.ts',
          'lib/door/rights.ts',
          'lib/door/front.ts',
          'lib/diary/people.ts',
          'lib/work/people/rights.ts',
        ].includes(source.file) &&
        /\.keepsDiary\b/.test(source.text) &&
        /currentWho|currentVisit/.test(source.text),
    );
    expect(wrong.map(({ file }) => file)).toEqual([]);
  });
});
