import { spawnSync } from 'node:child_process';
import { createHash, randomUUID } from 'node:crypto';
import {
  cpSync,
  createWriteStream,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import sharp from 'sharp';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { ZipFile } from 'yazl';
import { inspectDatabase } from '@/lib/archive/database';
import { finishSwap } from '@/lib/archive/swap';
import { closeDiary } from '@/lib/diary/client';
import { addDoorSession, hasDoorSession } from '@/lib/diary/door-sessions';
import { addPerson, listPeople } from '@/lib/diary/people';
import { createEvent, listEvents } from '@/lib/diary/lawn-events';
import { createLawn, listLawns } from '@/lib/diary/lawns';
import { applyMigrations, knownMigrations } from '@/lib/diary/migrate';
import { createPlot } from '@/lib/diary/plots';
import { createSpray, listSprays } from '@/lib/diary/sprays';
import { keepArchive, listArchives, thinArchives } from '@/lib/work/keep/keep-archive';
import { restoreArchive } from '@/lib/work/keep/restore-archive';
import { takePhoto } from '@/lib/work/photos/take-photo';

const root = mkdtempSync(path.join(tmpdir(), 'swathbook-archive-'));
const source = path.join(root, 'source');
const stays = path.join(root, 'stays');
let archive: string;
let entries: Map<string, Buffer>;
let target: string;
const before = process.env['SWATHBOOK_DATA'];

async function inFolder<T>(folder: string, work: () => Promise<T>): Promise<T> {
  await closeDiary();
  process.env['SWATHBOOK_DATA'] = folder;
  try {
    return await work();
  } finally {
    await closeDiary();
  }
}

const jpegOf = (red: number) =>
  sharp({ create: { width: 64, height: 48, channels: 3, background: { r: red, g: 120, b: 40 } } })
    .jpeg()
    .toBuffer();
const streamOf = (bytes: Uint8Array) => Readable.toWeb(Readable.from([bytes])) as ReadableStream<Uint8Array>;

async function lawnWithPhotos(name: string, reds: number[]): Promise<void> {
  await applyMigrations(path.join(process.env['SWATHBOOK_DATA'] as string, 'diary.db'));
  const lawn = await createLawn({
    name,
    place: '',
    latitudeDeg: null,
    longitudeDeg: null,
    elevationM: null,
    timeZone: 'Europe/Rome',
    unitSystem: 'metric',
    grass: '',
    mowingHeightMm: null,
    mowingHeightEnteredValue: null,
    mowingHeightEnteredUnit: null,
    waterPh: null,
    waterAlkalinityMgPerLCaCO3: null,
    waterHardnessMgPerLCaCO3: null,
    waterChlorinated: false,
    note: '',
  });
  for (const red of reds) {
    const taken = await takePhoto(streamOf(await jpegOf(red)), {
      lawnId: lawn.id,
      fileName: `${red}.jpg`,
      viewpointName: 'step',
      modified: undefined,
      now: new Date('2026-05-01T10:00:00Z'),
    });
    if (!taken.ok) throw new Error(taken.message);
  }
}

/** Every file under a folder with its hash, but for what is made again or belongs to a running server. */
function contents(folder: string): Record<string, string> {
  const names = readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => path.relative(folder, path.join(entry.parentPath, entry.name)));
  return Object.fromEntries(
    names.sort().map((name) => [
      name,
      createHash('sha256')
        .update(readFileSync(path.join(folder, name)))
        .digest('hex'),
    ]),
  );
}

async function zipOf(parts: Map<string, Buffer>, rename: (name: string) => string = (name) => name): Promise<string> {
  const zip = new ZipFile();
  const renames: [string, string][] = [];
  for (const [name, bytes] of parts) {
    zip.addBuffer(bytes, name, { compress: false });
    if (rename(name) !== name) renames.push([name, rename(name)]);
  }
  zip.end();
  const file = path.join(root, `made-${randomUUID()}.zip`);
  await pipeline(zip.outputStream, createWriteStream(file));
  if (renames.length > 0) {
    // yazl refuses to write bad names, so they are put in afterwards, of the same length.
    let bytes = readFileSync(file).toString('latin1');
    for (const [from, to] of renames) {
      if (from.length !== to.length) throw new Error('names of the same length, please');
      bytes = bytes.replaceAll(from, to);
    }
    writeFileSync(file, Buffer.from(bytes, 'latin1'));
  }
  return file;
}

async function unzip(file: string): Promise<Map<string, Buffer>> {
  const { openPromise } = await import('yauzl');
  const zip = await openPromise(file, { lazyEntries: true });
  const parts = new Map<string, Buffer>();
  for await (const entry of zip.eachEntry()) {
    const chunks: Buffer[] = [];
    for await (const chunk of await zip.openReadStreamPromise(entry)) chunks.push(chunk as Buffer);
    parts.set(entry.fileName, Buffer.concat(chunks));
  }
  return parts;
}

const manifestOf = (parts: Map<string, Buffer>) => JSON.parse((parts.get('manifest.json') as Buffer).toString());
function withManifest(
  parts: Map<string, Buffer>,
  change: (manifest: ReturnType<typeof manifestOf>) => void,
): Map<string, Buffer> {
  const manifest = manifestOf(parts);
  change(manifest);
  return new Map([...parts, ['manifest.json', Buffer.from(JSON.stringify(manifest))]]);
}

beforeAll(async () => {
  await inFolder(source, async () => {
    await lawnWithPhotos('Archive lawn', [10, 20, 30]);
    archive = (await keepArchive({ now: new Date('2026-05-02T08:00:00Z') })).path; // the diary stays open meanwhile
  });
  await inFolder(stays, () => lawnWithPhotos('Stays', [77]));
  entries = await unzip(archive);
}, 60_000);
afterAll(async () => {
  await closeDiary();
  if (before === undefined) delete process.env['SWATHBOOK_DATA'];
  else process.env['SWATHBOOK_DATA'] = before;
  rmSync(root, { recursive: true, force: true });
});
beforeEach(() => {
  target = mkdtempSync(path.join(root, 'target-'));
});

describe('an archive', () => {
  test('holds the database, every photo and a manifest with the SHA-256 of each', () => {
    const manifest = manifestOf(entries);
    expect(manifest.entries.map((entry: { name: string }) => entry.name).sort()).toEqual(
      [...entries.keys()].filter((name) => name !== 'manifest.json').sort(),
    );
    for (const { name, bytes, sha256 } of manifest.entries) {
      expect(entries.get(name)?.length).toBe(bytes);
      expect(
        createHash('sha256')
          .update(entries.get(name) as Buffer)
          .digest('hex'),
      ).toBe(sha256);
    }
    expect([...entries.keys()].filter((name) => name.startsWith('photos/'))).toHaveLength(3);
    expect(manifest.migrations).toEqual(knownMigrations());
  });

  test('restores into an empty folder: the same rows, the same bytes', async () => {
    const restored = await restoreArchive(archive, target, new Date('2026-05-03T08:00:00Z'));
    expect(restored).toMatchObject({ photos: 3, missing: [], earlierData: null });
    const photos = [...entries].filter(([name]) => name.startsWith('photos/'));
    for (const [name, bytes] of photos) expect(Buffer.compare(readFileSync(path.join(target, name)), bytes)).toBe(0);
    await inFolder(target, async () => expect((await listLawns()).map((lawn) => lawn.name)).toEqual(['Archive lawn']));
    const [was, is] = await Promise.all([
      inspectDatabase(path.join(source, 'diary.db')),
      inspectDatabase(path.join(target, 'diary.db')),
    ]);
    expect(is.photos).toEqual(was.photos);
    expect(is.integrity).toEqual([]);
  });

  test('restores over another diary and leaves that one whole in a folder of its own', async () => {
    await inFolder(target, () => lawnWithPhotos('Other lawn', [200]));
    const photosBefore = contents(path.join(target, 'photos'));
    const restored = await restoreArchive(archive, target, new Date('2026-05-03T08:00:00Z'));
    expect(restored.earlierData).toBe(path.join(target, 'before-restore-20260503T080000Z'));
    expect(contents(path.join(restored.earlierData as string, 'photos'))).toEqual(photosBefore);
    await inFolder(target, async () => expect((await listLawns()).map((lawn) => lawn.name)).toEqual(['Archive lawn']));
    await inFolder(restored.earlierData as string, async () =>
      expect((await listLawns()).map((lawn) => lawn.name)).toEqual(['Other lawn']),
    );
  });

  test('of an older version is brought up to date by the migrations it lacks', async () => {
    // An older database is made as an older version would have left it: with the first migration alone.
    const [first, ...later] = knownMigrations();
    const older = path.join(root, 'older.db');
    rmSync(older, { force: true });
    await makeOlder(older, first as string);
    const bytes = readFileSync(older);
    const parts = new Map([['diary.db', bytes]]);
    const manifest = {
      kind: 'swathbook-archive',
      layout: 1,
      madeAt: '2026-04-01T00:00:00.000Z',
      program: '0.1.0',
      migrations: [first],
      missing: [],
      entries: [{ name: 'diary.db', bytes: bytes.length, sha256: createHash('sha256').update(bytes).digest('hex') }],
    };
    const restored = await restoreArchive(
      await zipOf(new Map([...parts, ['manifest.json', Buffer.from(JSON.stringify(manifest))]])),
      target,
      new Date(),
    );
    expect(restored.migrated).toEqual(later);
    expect((await inspectDatabase(path.join(target, 'diary.db'))).migrations).toEqual(knownMigrations());
  });

  test('names a photo whose file is gone, keeps the rest, and restores without it', async () => {
    const folder = path.join(root, 'gone');
    cpSync(source, folder, { recursive: true });
    const gone = [...entries.keys()].find((name) => name.startsWith('photos/')) as string;
    rmSync(path.join(folder, gone));
    const kept = await inFolder(folder, () => keepArchive({ now: new Date('2026-05-04T08:00:00Z') }));
    expect(kept).toMatchObject({ missing: [gone], photos: 2 });
    expect(await restoreArchive(kept.path, target, new Date())).toMatchObject({ missing: [gone], photos: 2 });
  });

  test('is not made of a photo whose bytes changed on disk', async () => {
    const folder = path.join(root, 'rotten');
    cpSync(source, folder, { recursive: true });
    const rotten = path.join(folder, [...entries.keys()].find((name) => name.startsWith('photos/')) as string);
    const bytes = readFileSync(rotten);
    bytes[100] = (bytes[100] as number) ^ 1;
    writeFileSync(rotten, bytes);
    await expect(inFolder(folder, () => keepArchive({ now: new Date('2026-05-05T08:00:00Z') }))).rejects.toThrow(
      /^Expected photos.* to hold the bytes its name promises/,
    );
    expect(readdirSync(path.join(folder, 'archives')).filter((name) => !name.startsWith('swathbook-20260502'))).toEqual(
      [],
    );
  });

  test('keeping the newest two removes the older ones and nothing else', async () => {
    await inFolder(target, async () => {
      await lawnWithPhotos('Kept', []);
      for (const day of ['01', '02', '03', '04']) await keepArchive({ now: new Date(`2026-06-${day}T00:00:00Z`) });
      writeFileSync(path.join(target, 'archives', 'mine.zip'), 'not ours');
      expect(await thinArchives(2)).toEqual(['swathbook-20260602T000000Z.zip', 'swathbook-20260601T000000Z.zip']);
      expect((await listArchives()).map((kept) => kept.name)).toEqual([
        'swathbook-20260604T000000Z.zip',
        'swathbook-20260603T000000Z.zip',
      ]);
      expect(existsSync(path.join(target, 'archives', 'mine.zip'))).toBe(true);
    });
  });
});

/** A database with one migration, as Prisma's own table tells it. */
async function makeOlder(file: string, migration: string): Promise<void> {
  const { default: Database } = await import('better-sqlite3');
  const database = new Database(file);
  const sql = readFileSync(path.join('prisma/migrations', migration, 'migration.sql'), 'utf8');
  database.exec(sql);
  database.exec(`CREATE TABLE "_prisma_migrations" ("id" TEXT PRIMARY KEY NOT NULL, "checksum" TEXT NOT NULL, "finished_at" DATETIME, "migration_name" TEXT NOT NULL,
    "logs" TEXT, "rolled_back_at" DATETIME, "started_at" DATETIME NOT NULL DEFAULT current_timestamp, "applied_steps_count" INTEGER UNSIGNED NOT NULL DEFAULT 0)`);
  database
    .prepare(
      'INSERT INTO "_prisma_migrations" (id, checksum, finished_at, migration_name, applied_steps_count) VALUES (?, ?, ?, ?, 1)',
    )
    .run('00000000-0000-0000-0000-000000000001', createHash('sha256').update(sql).digest('hex'), Date.now(), migration);
  database.close();
}

/** The archive with another database in it, hash and size as they should be. */
function withDatabase(bytes: Buffer): Promise<string> {
  const parts = withManifest(entries, (manifest) => {
    const entry = manifest.entries.find((candidate: { name: string }) => candidate.name === 'diary.db');
    entry.bytes = bytes.length;
    entry.sha256 = createHash('sha256').update(bytes).digest('hex');
  });
  return zipOf(new Map([...parts, ['diary.db', bytes]]));
}

describe('an archive that is off is refused whole, with the reason', () => {
  const photo = () => [...entries.keys()].find((name) => name.startsWith('photos/')) as string;
  // prettier-ignore
  const cases: [string, () => Promise<string> | string, RegExp][] = [
    ['a traversal path', () => zipOf(new Map([...entries, ['aa/bb.txt', Buffer.from('x')]]), (name) => (name === 'aa/bb.txt' ? '../bb.txt' : name)), /stay inside the data folder, got '\.\.\/bb\.txt'/],
    ['an absolute path', () => zipOf(new Map([...entries, ['aetc/x', Buffer.from('x')]]), (name) => (name === 'aetc/x' ? '/etc/x' : name)), /stay inside the data folder, got '\/etc\/x'/],
    ['a backslash path', () => zipOf(new Map([...entries, ['a/b/c', Buffer.from('x')]]), (name) => (name === 'a/b/c' ? String.raw`a\b\c` : name)), /stay inside the data folder/],
    ['a foreign entry', () => zipOf(new Map([...entries, ['readme.txt', Buffer.from('x')]])), /foreign entry 'readme\.txt'/],
    ['another program’s zip', () => zipOf(new Map([['word/document.xml', Buffer.from('<x/>')]])), /foreign entry/],
    ['a zip without manifest', () => zipOf(new Map([['diary.db', Buffer.from('x')]])), /without its manifest/],
    ['a wrong hash', () => zipOf(new Map([...entries, ['diary.db', Buffer.from((entries.get('diary.db') as Buffer).map((byte, at) => (at === 5000 ? byte ^ 1 : byte)))]])), /Expected diary\.db to have the hash/],
    ['a photo under another photo’s name', () => zipOf(withManifest(entries, (manifest) => { manifest.entries.find((entry: { name: string }) => entry.name === photo()).sha256 = 'a'.repeat(64); })), /under the hash of its own bytes/],
    ['a photo that the manifest doesn’t list', () => zipOf(withManifest(entries, (manifest) => { manifest.entries = manifest.entries.filter((entry: { name: string }) => entry.name !== photo()); })), /only entries that the manifest lists/],
    ['a photo that is listed but not there', () => zipOf(new Map([...entries].filter(([name]) => name !== photo()))), /got an archive without it/],
    ['a photo that only the database knows', () => zipOf(new Map([...withManifest(entries, (manifest) => { manifest.entries = manifest.entries.filter((entry: { name: string }) => entry.name !== photo()); })].filter(([name]) => name !== photo()))), /every photo that the diary lists/],
    ['a wrong size', () => zipOf(withManifest(entries, (manifest) => { manifest.entries[0].bytes += 1; })), /bytes, got/],
    ['a layout of the future', () => zipOf(withManifest(entries, (manifest) => { manifest.layout = 2; })), /Expected an archive of layout 1, got layout 2/],
    ['a manifest of another kind', () => zipOf(withManifest(entries, (manifest) => { manifest.kind = 'x'; })), /manifest of another kind/],
    ['a manifest that is no JSON', () => zipOf(new Map([...entries, ['manifest.json', Buffer.from('{')]])), /manifest to be JSON/],
    ['a file cut off in the middle', () => cut(0.5), /no zip or is cut off/],
    ['a file cut off near its end', () => cut(0.98), /no zip or is cut off|damaged/],
    ['a text file', () => plain('hello'), /no zip or is cut off/],
    ['an empty file', () => plain(''), /no zip or is cut off/],
    ['nothing at all', () => path.join(root, 'not-there.zip'), /found none/],
    ['a folder', () => root, /got a folder/],
    ['a database that is none', () => withDatabase(Buffer.from('this is no database at all, just text')), /readable diary database/],
  ];
  function cut(share: number): string {
    const bytes = readFileSync(archive);
    const file = path.join(root, `cut-${share}.zip`);
    writeFileSync(file, bytes.subarray(0, Math.floor(bytes.length * share)));
    return file;
  }
  function plain(text: string): string {
    const file = path.join(root, `plain-${text.length}.zip`);
    writeFileSync(file, text);
    return file;
  }
  test.each(cases)('%s', async (_name, make, words) => {
    cpSync(stays, target, { recursive: true });
    const was = contents(target);
    const file = await make();
    const refusal = await restoreArchive(file, target, new Date()).then(
      () => null,
      (error: Error) => error,
    );
    expect(refusal?.name).toBe('ArchiveRefused');
    expect(refusal?.message).toMatch(words);
    expect(refusal?.message).toMatch(/^Expected .+, (got|found) .+\.$/s);
    expect(contents(target)).toEqual(was);
  });

  test('one that a newer version made', async () => {
    const newer = path.join(root, 'newer.db');
    cpSync(path.join(source, 'diary.db'), newer);
    writeFileSync(newer, entries.get('diary.db') as Buffer);
    const { default: Database } = await import('better-sqlite3');
    const database = new Database(newer);
    database
      .prepare(
        'INSERT INTO "_prisma_migrations" (id, checksum, finished_at, migration_name, started_at, applied_steps_count) VALUES (?, ?, ?, ?, ?, 1)',
      )
      .run('f', 'f', Date.now(), '29990101000000_later', Date.now());
    database.close();
    await expect(restoreArchive(await withDatabase(readFileSync(newer)), target, new Date())).rejects.toThrow(
      /made by a newer version \(it has been through 29990101000000_later\)/,
    );
    expect(readdirSync(target)).toEqual([]);
  });
});

test('a restore cut short between any two renames is finished by doing it again', async () => {
  const names = ['diary.db', 'photos'];
  const states: (() => void)[] = [
    () => {},
    () => move('diary.db', 'old'),
    () => (move('diary.db', 'old'), move('photos', 'old')),
    () => (move('diary.db', 'old'), move('photos', 'old'), mark()),
    () => (move('diary.db', 'old'), move('photos', 'old'), mark(), arrive('diary.db')),
    () => (move('diary.db', 'old'), move('photos', 'old'), mark(), arrive('diary.db'), arrive('photos')),
  ];
  function move(name: string, to: string): void {
    mkdirSync(path.join(target, to), { recursive: true });
    cpSync(path.join(target, name), path.join(target, to, name), { recursive: true });
    rmSync(path.join(target, name), { recursive: true });
  }
  const mark = () => writeFileSync(path.join(target, 'new', 'moved-aside'), '');
  function arrive(name: string): void {
    cpSync(path.join(target, 'new', name), path.join(target, name), { recursive: true });
    rmSync(path.join(target, 'new', name), { recursive: true });
  }
  for (const cutShort of states) {
    target = mkdtempSync(path.join(root, 'swap-'));
    for (const folder of ['.', 'new']) {
      mkdirSync(path.join(target, folder, 'photos'), { recursive: true });
      for (const name of names)
        writeFileSync(
          path.join(target, folder, name === 'photos' ? 'photos/one' : name),
          folder === 'new' ? 'new' : 'old',
        );
    }
    writeFileSync(path.join(target, 'restoring.json'), JSON.stringify({ staged: 'new', aside: 'old' }));
    cutShort();
    expect(await finishSwap(target)).toBe(true);
    expect(await finishSwap(target)).toBe(false);
    const text = (name: string) => readFileSync(path.join(target, name), 'utf8');
    expect([text('diary.db'), text('photos/one'), text('old/diary.db'), text('old/photos/one')]).toEqual([
      'new',
      'new',
      'old',
      'old',
    ]);
    expect(readdirSync(target).sort()).toEqual(['diary.db', 'old', 'photos']);
  }
});

test(
  'while a restore unpacks nobody else gets the folder: not a start, not a second restore',
  { timeout: 60_000 },
  async () => {
    const run = (name: string) =>
      spawnSync(process.execPath, ['lib/commands/run.mjs', name], {
        encoding: 'utf8',
        env: { ...process.env, SWATHBOOK_DATA: target },
      });
    let meanwhile: [string, ReturnType<typeof run>][] | undefined;
    const first = restoreArchive(archive, target, new Date(), () => {
      meanwhile ??= ['migrate', 'serve'].map((name) => [name, run(name)]);
    });
    const second = restoreArchive(archive, target, new Date());
    await expect(second).rejects.toThrow(
      /^Expected a data folder that nobody else uses, got .*: process \d+ restores an archive into it\. Stop it, or wait for it, first\.$/,
    );
    expect((await first).photos).toBe(3);
    for (const [name, done] of meanwhile ?? []) {
      expect([name, done.status]).toEqual([name, 2]);
      expect(done.stderr).toMatch(
        /^swathbook: expected a data folder that nobody else uses, got .*: process \d+ restores an archive into it\.\n$/,
      );
    }
    expect(meanwhile?.length).toBe(2);
    expect(readdirSync(target).toSorted()).toEqual(['diary.db', 'photos']);
  },
);

describe('an altered database is refused, however well its hash fits', () => {
  // prettier-ignore
  const alterations: [string, string, RegExp][] = [
    ['a trigger', `CREATE TRIGGER gone AFTER INSERT ON "Spray" BEGIN DELETE FROM "Photo"; END`, /plain tables, got one with the trigger 'gone'/],
    ['a view in a table’s place', `ALTER TABLE "Rating" RENAME TO "Rating2"; CREATE VIEW "Rating" AS SELECT * FROM "Rating2"`, /plain tables, got one with the view 'Rating'/],
    ['a virtual table', `CREATE VIRTUAL TABLE words USING fts5(text)`, /plain tables, got one with the (virtual table|.*)/],
    ['a table too many', `CREATE TABLE "Other" (x TEXT)`, /got one with table Other as well/],
    ['a dropped table', `DROP TABLE "Rating"`, /whose .*Rating.* is missing/],
    ['a dropped column', `ALTER TABLE "Lawn" DROP COLUMN "grass"`, /whose table Lawn is another/],
    ['a dropped index', `DROP INDEX "Photo_viewpointId_takenAt_idx"`, /whose index Photo_viewpointId_takenAt_idx is missing/],
    ['JSON that is none', `UPDATE "Photo" SET cautions = '[{'`, /Expected JSON in Photo\.cautions, got/],
    ['JSON of another shape', `UPDATE "Photo" SET cautions = '{"a":1}'`, /Expected in Photo\.cautions only what this diary writes there/],
    ['a date that is none', `UPDATE "Photo" SET takenAt = 'yesterday'`, /Expected dates in Photo\.takenAt, got 'yesterday'/],
    ['a photo under no hash', `UPDATE "Photo" SET sha256 = 'x' || substr(sha256, 2)`, /under the 64 hex digits of its hash, got one under 'x/],
    ['an unknown kind of photo', `UPDATE "Photo" SET kind = 'exe'`, /Expected/],
    ['text for a number', `UPDATE "Photo" SET widthPx = 'wide'`, /Expected whole numbers in Photo\.widthPx, got 'wide'/],
    ['a time zone there is not', `UPDATE "Lawn" SET timeZone = 'Mars/Base'`, /Expected in Lawn\.timeZone only what this diary writes there, got 'Mars\/Base'/],
    ['an identifier that is a path', `PRAGMA foreign_keys = OFF; UPDATE "Viewpoint" SET id = '../../x'; UPDATE "Photo" SET viewpointId = '../../x' WHERE viewpointId IS NOT NULL`, /Expected identifiers of this diary in/],
    ['a migration left out', `DELETE FROM "_prisma_migrations" WHERE migration_name = (SELECT min(migration_name) FROM "_prisma_migrations")`, /went through .* without those before it/],
  ];

  async function altered(sql: string): Promise<string> {
    const file = path.join(root, `altered-${randomUUID()}.db`);
    writeFileSync(file, entries.get('diary.db') as Buffer);
    const { default: Database } = await import('better-sqlite3');
    const database = new Database(file);
    database.exec(sql);
    database.close();
    return withDatabase(readFileSync(file));
  }

  test.each(alterations)('%s', { timeout: 60_000 }, async (_name, sql, words) => {
    const refusal = await restoreArchive(await altered(sql), target, new Date()).then(
      () => null,
      (error: Error) => error,
    );
    expect([refusal?.name, refusal?.message]).toEqual(['ArchiveRefused', expect.stringMatching(words)]);
    expect(readdirSync(target)).toEqual([]);
  });

  test('one that says nothing new is taken', { timeout: 60_000 }, async () => {
    expect(
      (await restoreArchive(await altered('UPDATE "Photo" SET note = \'still fine\''), target, new Date())).photos,
    ).toBe(3);
  });
});

test('what unpacks to a hundred times its size is refused before a byte of it is written', async () => {
  const bomb = Buffer.alloc(40_000_000);
  const zip = new ZipFile();
  for (const [name, bytes] of withManifest(entries, (manifest) => {
    const entry = manifest.entries.find((candidate: { name: string }) => candidate.name === 'diary.db');
    entry.bytes = bomb.length;
    entry.sha256 = createHash('sha256').update(bomb).digest('hex');
  }))
    zip.addBuffer(name === 'diary.db' ? bomb : bytes, name, { compress: true });
  zip.end();
  const file = path.join(root, 'bomb.zip');
  await pipeline(zip.outputStream, createWriteStream(file));
  await expect(restoreArchive(file, target, new Date())).rejects.toThrow(
    /^Expected entries that unpack to at most 100 times their size, got 'diary\.db', which unpacks from \d+ bytes to 40 MB\.$/,
  );
  expect(readdirSync(target)).toEqual([]);
});

test('no archive carries a session or what knows a passphrase again, and none comes out of one; names and rights do', async () => {
  const folder = path.join(root, 'signed-in');
  cpSync(source, folder, { recursive: true });
  const check = 'ab'.repeat(32);
  const personId = await inFolder(folder, () =>
    addPerson('Ann', true, { salt: '0'.repeat(32), check, setAt: new Date() }),
  );
  await inFolder(folder, () => addDoorSession('f'.repeat(64), new Date(), new Date(Date.now() + 1e9)));
  const kept = await inFolder(folder, () => keepArchive({ now: new Date('2026-05-06T08:00:00Z') }));
  expect((await unzip(kept.path)).get('diary.db')?.includes('f'.repeat(64))).toBe(false);
  expect((await unzip(kept.path)).get('diary.db')?.includes(check)).toBe(false);
  await restoreArchive(kept.path, target, new Date());
  expect(await inFolder(target, () => hasDoorSession('f'.repeat(64), new Date()))).toBe(false);
  expect(await inFolder(target, listPeople)).toMatchObject([
    { id: personId, name: 'Ann', keepsDiary: true, hasPassphrase: false },
  ]);
});

test(
  'carries what happened besides sprays, where plots lie, and a spray with the weather of its plan',
  { timeout: 60_000 },
  async () => {
    const folder = path.join(root, 'events');
    mkdirSync(folder);
    const file = await inFolder(folder, async () => {
      await lawnWithPhotos('Eventful', [9]);
      const [lawn] = await listLawns();
      const plot = await createPlot(lawn!.id, {
        name: 'Strip',
        isCheck: false,
        polygonM: null,
        areaM2: 5,
        groundPlace: 'apart',
        note: '',
      });
      await createEvent(
        lawn!.id,
        {
          kind: 'mowing',
          at: new Date('2026-05-01T07:00:00Z'),
          mowingHeightMm: 60,
          mowingHeightEnteredValue: 60,
          mowingHeightEnteredUnit: 'mm',
          bladeSharpened: true,
        },
        [plot.id],
      );
      await createSpray(
        lawn!.id,
        { state: 'done', startedAt: new Date('2026-05-01T18:00:00Z'), airTempC: 20, weatherSource: 'plan' },
        [],
        [{ plotId: plot.id, areaM2: 5 }],
      );
      return (await keepArchive({ now: new Date('2026-05-03T08:00:00Z') })).path;
    });
    await restoreArchive(file, target, new Date());
    await inFolder(target, async () => {
      const [lawn] = await listLawns();
      expect(await listEvents(lawn!.id)).toMatchObject([
        { kind: 'mowing', heightMm: 60, bladeSharpened: true, wholeLawn: false, typed: { plotNames: ['Strip'] } },
      ]);
      expect(await listSprays(lawn!.id, { limit: 1 })).toMatchObject([{ weatherSource: 'plan', airTempC: 20 }]);
    });
  },
);
