import { expect, test } from 'vitest';
import { diary } from '@/lib/diary/client';
import { diaryStamp, whileUnwritten } from '@/lib/diary/stamp';
import { useFreshDiary } from '../support/diary';
import { testLawn } from '../support/test-lawn';

useFreshDiary();

test('an answer is kept until anything is written, and no longer', async () => {
  let asked = 0;
  const names = whileUnwritten(2, async () => {
    asked++;
    return (await diary().lawn.findMany({ orderBy: { name: 'asc' } })).map((lawn) => lawn.name);
  });
  expect(await names('a')).toEqual([]);
  expect(await names('a')).toEqual([]);
  expect(asked).toBe(1);
  const lawn = await testLawn({ name: 'North' });
  expect(await names('a')).toEqual(['North']);
  await diary().lawn.update({ where: { id: lawn.id }, data: { name: 'South' } });
  expect(await names('a')).toEqual(['South']);
  expect(await names('b')).toEqual(['South']);
  expect(await names('c')).toEqual(['South']);
  expect(asked).toBe(5);
  expect(await names('a')).toEqual(['South']);
  expect(asked).toBe(6);
});

test('an answer read while something was written is given once and not kept', async () => {
  const lawn = await testLawn({ name: 'North' });
  let asked = 0;
  const name = whileUnwritten(2, async () => {
    const { name: found } = await diary().lawn.findUniqueOrThrow({ where: { id: lawn.id } });
    if (asked++ === 0) await diary().lawn.update({ where: { id: lawn.id }, data: { name: 'South' } });
    return found;
  });
  expect(await name('a')).toBe('North');
  expect(await name('a')).toBe('South');
});

test('another connection’s commit makes another stamp', async () => {
  const before = await diaryStamp();
  expect(await diaryStamp()).toBe(before);
  if (process.env['SWATHBOOK_TEST_DATABASE'] !== undefined) return;
  const { default: Database } = await import('better-sqlite3');
  const { databaseFile } = await import('@/lib/diary/engine');
  const other = new Database(databaseFile());
  other.exec(`INSERT INTO "Setting" ("name", "value") VALUES ('another', '1')`);
  other.close();
  expect(await diaryStamp()).not.toBe(before);
});
