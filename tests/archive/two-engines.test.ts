import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import Database from 'better-sqlite3';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stopScorers } from '@/lib/darkroom/scorer';
import { closeDiary, diary } from '@/lib/diary/client';
import { findPhotos } from '@/lib/diary/find';
import { createEvent } from '@/lib/diary/lawn-events';
import { listLawns } from '@/lib/diary/lawns';
import { applyMigrations } from '@/lib/diary/migrate';
import {
  applyPostgresqlMigrations,
  draftPostgresqlMigration,
  postgresqlSchemaPath,
} from '@/lib/diary/migrate-postgresql';
import { addPerson, setRights } from '@/lib/diary/people';
import { createPlot } from '@/lib/diary/plots';
import { postgresqlSchema } from '@/lib/diary/postgresql-schema';
import { diaryTables } from '@/lib/diary/tables';
import { createTrial } from '@/lib/diary/trials';
import { addWeatherHours, countHoursBetween, keepServiceHours, weatherHoursBetween } from '@/lib/diary/weather-hours';
import { emptyHour } from '@/lib/weather/hour';
import { serverTrouble } from '@/lib/diary/database-server';
import { duringVisit } from '@/lib/visit';
import { keepArchive } from '@/lib/work/keep/keep-archive';
import { restoreArchive } from '@/lib/work/keep/restore-archive';
import { takePhoto } from '@/lib/work/photos/take-photo';
import { postgresPrograms, startPostgres, type PostgresServer } from '@/lib/commands/proving/own-postgres';
import { testLawn, testSpray } from '../support/test-lawn';

describe('the schema for PostgreSQL', () => {
  test('is the written schema in other words, and its migrations lead to it', async () => {
    expect(readFileSync(postgresqlSchemaPath, 'utf8')).toBe(
      postgresqlSchema(readFileSync('prisma/schema.prisma', 'utf8')),
    );
    expect((await draftPostgresqlMigration()).sql).toBe('');
  });

  test('keeps the order of keys in JSON and the zone of instants, and touches no other field', () => {
    const made = postgresqlSchema(
      'datasource db {\n  provider = "sqlite"\n}\nmodel A {\n  at DateTime? // when\n  b  Json\n  c  String @default("Json")\n}\n',
    );
    expect(made).toContain(
      '  at DateTime? @db.Timestamptz(3) // when\n  b  Json @db.Json\n  c  String @default("Json")\n',
    );
    expect(made).toContain('provider = "postgresql"');
  });

  test('every table comes after those its rows point at', () => {
    const names = diaryTables().map((table) => table.name);
    expect(names.indexOf('Photo')).toBeGreaterThan(names.indexOf('Lawn'));
    expect(names.indexOf('Mark')).toBeGreaterThan(names.indexOf('Patch'));
    expect(() =>
      diaryTables(
        'model A {\n  id String @id\n  b B @relation(fields: [bId], references: [id])\n}\nmodel B {\n  id String @id\n  a A @relation(fields: [aId], references: [id])\n}\n',
      ),
    ).toThrow(/point at each other/);
  });
});

const programs = postgresPrograms();

describe.skipIf(programs === null)('a diary on PostgreSQL', () => {
  const root = mkdtempSync(path.join(tmpdir(), 'swathbook-engines-'));
  const before = { data: process.env['SWATHBOOK_DATA'], database: process.env['SWATHBOOK_DATABASE'] };
  let server: PostgresServer;

  async function on<T>(folder: string, database: string | null, work: () => Promise<T>): Promise<T> {
    await closeDiary();
    process.env['SWATHBOOK_DATA'] = path.join(root, folder);
    if (database === null) delete process.env['SWATHBOOK_DATABASE'];
    else process.env['SWATHBOOK_DATABASE'] = server.url(database);
    try {
      return await work();
    } finally {
      await closeDiary();
      delete process.env['SWATHBOOK_DATABASE'];
    }
  }

  /** Every row of an archive's database, as text. */
  function rowsOf(file: string): Record<string, string[]> {
    const folder = mkdtempSync(path.join(root, 'rows-'));
    if (spawnSync('python3', ['-m', 'zipfile', '-e', file, folder]).status !== 0)
      throw new Error('expected an archive that unpacks');
    const database = new Database(path.join(folder, 'diary.db'));
    return Object.fromEntries(
      diaryTables().map(({ name }) => [
        name,
        database
          .prepare(`SELECT * FROM "${name}"`)
          .all()
          .map((row) => JSON.stringify(row))
          .sort(),
      ]),
    );
  }

  const photosIn = (folder: string) =>
    readdirSync(path.join(root, folder, 'photos'), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) =>
        createHash('sha256')
          .update(readFileSync(path.join(entry.parentPath, entry.name)))
          .digest('hex'),
      )
      .sort();

  beforeAll(async () => {
    server = await startPostgres(programs!);
    for (const name of ['grown', 'empty']) server.run(`CREATE DATABASE ${name}`);
  }, 120_000);
  afterAll(async () => {
    await stopScorers();
    await closeDiary();
    server?.remove();
    if (before.data === undefined) delete process.env['SWATHBOOK_DATA'];
    else process.env['SWATHBOOK_DATA'] = before.data;
    if (before.database !== undefined) process.env['SWATHBOOK_DATABASE'] = before.database;
    rmSync(root, { recursive: true, force: true });
  });

  /** A diary with something in most tables. */
  async function fill(): Promise<string> {
    const lawn = await testLawn({ name: 'Two engines', note: 'a “quoted” note, 100 % ümläut' });
    const plots = [];
    for (const name of ['A', 'B'])
      plots.push(
        await createPlot(lawn.id, {
          name,
          isCheck: name === 'A',
          polygonM: [
            [0, 0],
            [1, 0],
            [1, 1.5],
            [0, 1.5],
          ],
          areaM2: 1.5,
          note: '',
        }),
      );
    const ann = await addPerson('Ann', true, { salt: '0'.repeat(32), check: '1'.repeat(64), setAt: new Date() });
    const ben = await addPerson('Ben', false, null);
    await setRights(ben!, false, new Map([[lawn.id, 'works']]));
    await duringVisit(
      {
        began: true,
        refusal: null,
        who: { kind: 'person', id: ann!, name: 'Ann', keepsDiary: true, lawns: new Map() },
      },
      () => testSpray(lawn, '2026-05-01T18:30'),
    );
    await createEvent(
      lawn.id,
      { kind: 'mowing', at: new Date('2026-05-03T08:00:00Z'), mowingHeightMm: 50, bladeSharpened: false },
      [plots[0]!.id],
    );
    await createTrial(lawn.id, {
      name: 'Strips',
      question: '',
      design: 'paired-strips',
      blocks: 1,
      seed: 1,
      startsOn: '2026-05-01',
      photoDays: [1, 3],
      note: '',
      layout: {
        originM: [0, 0],
        swathM: null,
        passesPerStrip: null,
        bufferM: null,
        alleyM: null,
        blocksInOneRow: false,
        widthM: 4,
        lengthM: 5,
        diagonalM: 6.4,
        stakes: [],
      },
      treatments: ['Unsprayed', 'Iron'].map((name, i) => ({
        name,
        isCheck: i === 0,
        onSubplots: false,
        carrierLPerHa: null,
        carrierEnteredValue: null,
        carrierEnteredUnit: null,
        items: [],
      })),
      strips: plots.map((plot, position) => ({
        label: plot.name,
        plot: { id: plot.id },
        cornersM: [
          [0, 0],
          [1, 0],
          [1, 1],
          [0, 1],
        ],
        treatment: position === 0 ? 'Unsprayed' : 'Iron',
        subTreatment: null,
        block: 0,
        position,
      })),
    } as Parameters<typeof createTrial>[1]);
    await addWeatherHours(
      lawn.id,
      Array.from({ length: 30 }, (_, i) => ({
        hourStart: new Date(Date.UTC(2026, 4, 1, i)),
        airTempC: 10 + i / 7,
        rainMm: i % 3 === 0 ? null : 0.1,
        source: 'logger',
      })),
    );
    for (const red of [10, 200]) {
      const jpeg = await sharp({
        create: { width: 64, height: 48, channels: 3, background: { r: red, g: 120, b: 40 } },
      })
        .jpeg()
        .toBuffer();
      const taken = await takePhoto(Readable.toWeb(Readable.from([jpeg])) as ReadableStream<Uint8Array>, {
        lawnId: lawn.id,
        fileName: `Before-${red}.jpg`,
        viewpointName: 'Step',
        modified: undefined,
        now: new Date('2026-05-04T10:00:00Z'),
      });
      if (!taken.ok) throw new Error(taken.message);
    }
    return lawn.id;
  }

  test('takes over a SQLite diary by an archive and gives it back, row by row and byte by byte', async () => {
    const first = await on('small', null, async () => {
      await applyMigrations(path.join(root, 'small', 'diary.db'));
      await fill();
      return (await keepArchive({ now: new Date('2026-05-05T08:00:00Z') })).path;
    });
    const second = await on('large', 'grown', async () => {
      await restoreArchive(first, path.join(root, 'large'), new Date('2026-05-06T08:00:00Z'));
      expect(await listLawns()).toHaveLength(1);
      return (await keepArchive({ now: new Date('2026-05-07T08:00:00Z') })).path;
    });
    const [was, is] = [rowsOf(first), rowsOf(second)];
    expect(Object.values(was).filter((rows) => rows.length > 0).length).toBeGreaterThanOrEqual(12);
    expect(is).toEqual(was);
    expect(photosIn('large')).toEqual(photosIn('small'));
    expect(photosIn('large')).toHaveLength(2);

    // Back onto a file, and once more onto the server, whose earlier rows are archived first.
    await on('back', null, () => restoreArchive(second, path.join(root, 'back'), new Date('2026-05-08T08:00:00Z')));
    expect(photosIn('back')).toEqual(photosIn('small'));
    await on('large', 'grown', async () => {
      const again = await restoreArchive(first, path.join(root, 'large'), new Date('2026-05-09T08:00:00Z'));
      expect(again.earlierData).toMatch(/before-restore-.*\.zip$/);
      expect(rowsOf(again.earlierData!)).toEqual(was);
    });
  }, 240_000);

  test('answers as the file does: hours by layer, text found whatever its capitals', async () => {
    const asked = async (lawnId: string) => {
      const [from, to] = [new Date('2026-05-01T00:00:00Z'), new Date('2026-05-03T00:00:00Z')];
      await keepServiceHours(lawnId, 'service', [{ ...emptyHour(Date.UTC(2026, 4, 1, 3)), airTempC: 99, rainMm: 7 }]);
      await keepServiceHours(lawnId, 'service', [{ ...emptyHour(Date.UTC(2026, 4, 1, 3)), rainMm: 8 }]);
      return {
        hours: await weatherHoursBetween(lawnId, from, to),
        count: await countHoursBetween(lawnId, from, to),
        found: (await findPhotos(lawnId, { text: 'before-2', from: null, to: null, limit: 10 })).map(
          (photo) => photo.fileName,
        ),
      };
    };
    const answers = [];
    for (const [folder, database] of [
      ['small', null],
      ['large', 'grown'],
    ] as const)
      answers.push(await on(folder, database, async () => asked((await listLawns())[0]!.id)));
    expect(answers[0]!.found).toEqual(['Before-200.jpg']);
    expect(answers[0]!.hours[3]).toMatchObject({ rainMm: 8, source: 'logger + service' });
    expect(answers[1]).toEqual(answers[0]);
  }, 120_000);

  test('two transactions that read and write the same end one after the other', async () => {
    await on('large', 'grown', async () => {
      const [lawn] = await listLawns();
      await diary().lawn.update({ where: { id: lawn!.id }, data: { note: '' } });
      const add = (letter: string) =>
        diary().$transaction(async (tx) => {
          const { note } = await tx.lawn.findUniqueOrThrow({ where: { id: lawn!.id } });
          await new Promise((go) => setTimeout(go, 30));
          await tx.lawn.update({ where: { id: lawn!.id }, data: { note: note + letter } });
        });
      await Promise.all(['a', 'b', 'c', 'd'].map(add));
      expect([...(await listLawns())[0]!.note].sort().join('')).toBe('abcd');
    });
  }, 60_000);

  test('a database without its server, its name or its user is told in a sentence', async () => {
    const said = (url: string) => applyPostgresqlMigrations(url).then(() => 'nothing', serverTrouble);
    expect(await said('postgresql://postgres@127.0.0.1:1/diary')).toMatch(/^expected the database server .* to answer/);
    expect(await said(server.url('nowhere'))).toMatch(/createdb/);
    expect(await said(server.url('grown').replace('postgres@', 'nobody@'))).toMatch(/user who may open/);
    server.stop();
    try {
      await on('large', 'grown', async () => {
        await expect(listLawns()).rejects.toThrow(
          'The database server doesn’t answer: nothing was saved. Try again in a moment.',
        );
      });
    } finally {
      server.start();
    }
    await on('large', 'grown', async () => expect(await listLawns()).toHaveLength(1));
  }, 60_000);
});
