import { existsSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { stopScorers } from '@/lib/darkroom/scorer';
import { isWritable } from '@/lib/darkroom/shelf';
import { closeDiary } from '@/lib/diary/client';
import { holderOf, holdFolder } from '@/lib/door/folder-lock';
import { dataFolder } from '@/lib/forms/environment';
import { stopComparer } from '@/lib/work/photos/comparer';
import { examine } from '@/lib/work/keep/doctor';

/**
 * npm run doctor [-- --fix] [--deep]: looks the data folder over and says what it finds; --fix does what it offers,
 * --deep hashes every photo again. Ends with 1 when something bad is left.
 */
const marks = { good: 'ok  ', note: 'note', bad: 'BAD ' } as const;

try {
  const { values } = parseArgs({
    options: { fix: { type: 'boolean', default: false }, deep: { type: 'boolean', default: false } },
  });
  const folder = dataFolder();
  console.log(`Data folder ${folder}`);
  // What mends needs the folder for itself; where another has it, the doctor only looks.
  if (values.fix && existsSync(folder) && holderOf(folder) === null && (await isWritable(folder)))
    holdFolder(folder, 'mending');
  let findings = await examine(folder, new Date(), values.deep);
  for (const { level, sentence, fix } of findings) {
    console.log(`${marks[level]}  ${sentence}${fix && !values.fix ? ` [--fix would ${fix.offer}]` : ''}`);
    if (fix && values.fix) console.log(`      ${fix.offer}: ${await fix.apply()}`);
  }
  if (values.fix && findings.some((finding) => finding.fix !== undefined))
    findings = await examine(folder, new Date(), values.deep);
  const left = findings.filter((finding) => finding.level === 'bad').length;
  console.log(left === 0 ? 'Nothing is wrong.' : `${left} thing(s) need a person.`);
  process.exitCode = left === 0 ? 0 : 1;
} catch (error) {
  console.error(`doctor: ${(error as Error).message}`);
  process.exitCode = 2;
} finally {
  await stopScorers();
  await stopComparer();
  await closeDiary();
}
