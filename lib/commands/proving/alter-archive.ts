import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { promisify } from 'node:util';
import { readArchive } from '../../archive/read';
import { writeArchive, type FileToKeep } from '../../archive/write';
import { archiveManifestText, parseArchiveManifest, type ManifestFacts } from '../../forms/archive-manifest';
import type { Random } from '../../stats/random';

/** What an attacker, or a tool that meant well, may do to the database inside an archive. The first are harmless. */
const harmless = [
  `UPDATE "Photo" SET note = 'seen'`,
  `UPDATE "Lawn" SET name = 'Elsewhere'`,
  'DELETE FROM "Rating"',
  'VACUUM',
  `UPDATE "Spray" SET note = 'x' || char(10) || 'y'`,
];
const harmful = [
  `CREATE TRIGGER t AFTER INSERT ON "Spray" BEGIN DELETE FROM "Photo"; END`,
  `CREATE VIEW v AS SELECT 1`,
  `ALTER TABLE "Rating" RENAME TO "R2"; CREATE VIEW "Rating" AS SELECT * FROM "R2"`,
  `CREATE VIRTUAL TABLE w USING fts5(x)`,
  `CREATE TABLE "Extra" (x)`,
  `DROP TABLE "Rating"`,
  `DROP TABLE "Setting"`,
  `ALTER TABLE "Lawn" DROP COLUMN "grass"`,
  `ALTER TABLE "Photo" ADD COLUMN "extra" TEXT`,
  `DROP INDEX "Photo_lawnId_takenAt_idx"`,
  `CREATE INDEX more ON "Photo" (note)`,
  `UPDATE "Photo" SET cautions = '[{'`,
  `UPDATE "Photo" SET cautions = '7'`,
  `UPDATE "Photo" SET takenAt = 'soon'`,
  `UPDATE "Photo" SET kind = 'exe'`,
  `UPDATE "Photo" SET kind = ''`,
  `UPDATE "Photo" SET widthPx = 'wide'`,
  `UPDATE "Photo" SET widthPx = 1.5`,
  `UPDATE "Photo" SET sha256 = 'x' || substr(sha256, 2)`,
  `UPDATE "Photo" SET measureState = 'done'`,
  `UPDATE "Lawn" SET timeZone = 'Mars/Base'`,
  `UPDATE "Lawn" SET unitSystem = 'cubits'`,
  `UPDATE "Lawn" SET latitudeDeg = 'north'`,
  `UPDATE "Lawn" SET latitudeDeg = 9e999`,
  `UPDATE "Lawn" SET waterChlorinated = 7`,
  `UPDATE "Spray" SET startedAt = x'00'`,
  `UPDATE "Spray" SET state = 'thought of'`,
  `UPDATE "Spray" SET plan = 'none'`,
  `UPDATE "Plot" SET polygonM = '{"x":1}'`,
  `UPDATE "Plot" SET areaM2 = 'large'`,
  `UPDATE "Product" SET form = 'gas'`,
  `UPDATE "_prisma_migrations" SET migration_name = '29990101000000_x'`,
  `DELETE FROM "_prisma_migrations" WHERE migration_name = (SELECT min(migration_name) FROM "_prisma_migrations")`,
  `DELETE FROM "_prisma_migrations"`,
  `PRAGMA foreign_keys = OFF; DELETE FROM "Lawn"`,
  `PRAGMA foreign_keys = OFF; UPDATE "Lawn" SET id = '../../etc'`,
  `PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = replace(sql, 'TEXT', 'BLOB') WHERE name = 'Photo'`,
  `PRAGMA writable_schema = ON; DELETE FROM sqlite_master WHERE name = 'Rating'`,
];

const run = promisify(execFile);

/** Makes an archive like the one given, with one alteration of its database and every hash as it should be. */
export async function alterArchive(
  archive: Buffer,
  folder: string,
  random: Random,
): Promise<{ file: string; sql: string; harmless: boolean }> {
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const [whole, unpacked, file] = [
    path.join(folder, 'whole.zip'),
    path.join(folder, 'unpacked'),
    path.join(folder, 'altered.zip'),
  ];
  writeFileSync(whole, archive);
  let manifest: ManifestFacts | undefined;
  await readArchive({ file: whole, into: unpacked, parseManifest: (text) => (manifest = parseArchiveManifest(text)) });
  const isHarmless = random.next() < 0.15;
  const list = isHarmless ? harmless : harmful;
  const sql = list[random.below(list.length)] as string;
  const database = path.join(unpacked, 'diary.db');
  await run(process.execPath, ['lib/archive/database-process.mjs', 'alter', database, sql]);
  const facts = manifest as ManifestFacts;
  const files: FileToKeep[] = facts.entries.map(({ name }) => ({
    name,
    path: path.join(unpacked, ...name.split('/')),
    bytes: readFileSync(path.join(unpacked, ...name.split('/'))).length,
    compress: name === 'diary.db',
  }));
  await writeArchive({
    target: file,
    temporary: `${file}.part`,
    files,
    manifest: (entries) =>
      archiveManifestText({
        ...facts,
        entries: entries.map((entry) => ({
          ...entry,
          sha256: createHash('sha256')
            .update(readFileSync(path.join(unpacked, ...entry.name.split('/'))))
            .digest('hex'),
        })),
      }),
  });
  return { file, sql, harmless: isHarmless };
}
