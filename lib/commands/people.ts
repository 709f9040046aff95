/**
 * `npm run people`                       who has a name in this diary, and what they may do.
 * `npm run people -- passphrase NAME`    a new passphrase for one of them, also beside a running server: for after a restore, and for who forgot it.
 * Whoever can run this on the machine has the diary anyway.
 */
import { createInterface } from 'node:readline/promises';
import { closeDiary } from '@/lib/diary/client';
import { listLawns } from '@/lib/diary/lawns';
import { listPeople, personByName } from '@/lib/diary/people';
import { ResetForm } from '@/lib/forms/person-form';
import { parseForm } from '@/lib/forms/fields';
import { resetPassphrase } from '@/lib/work/people/people';

async function askPassphrase(name: string): Promise<string> {
  const asked = createInterface({ input: process.stdin, output: process.stderr });
  try {
    return process.stdin.isTTY
      ? await asked.question(`New passphrase for ${name} (it is shown as you type): `)
      : ((await asked[Symbol.asyncIterator]().next()).value ?? '');
  } finally {
    asked.close();
  }
}

const [verb, ...words] = process.argv.slice(2);
try {
  if (verb === undefined) {
    const [people, lawns] = [await listPeople(), new Map((await listLawns()).map((lawn) => [lawn.id, lawn.name]))];
    if (people.length === 0) console.log('Nobody has a name here: whoever can open the diary may do everything.');
    for (const { name, keepsDiary, rights, hasPassphrase, awaySince } of people) {
      const may = keepsDiary
        ? 'keeps the whole diary'
        : [...rights]
            .map(([lawnId, right]) =>
              `${right} ${right === 'looks' ? 'at' : right === 'works' ? 'on' : ''} ${lawns.get(lawnId) ?? 'a lawn in the bin'}`.replaceAll(
                /\s+/g,
                ' ',
              ),
            )
            .join(', ') || 'sees no lawn';
      console.log(
        `${name}: ${awaySince ? 'put away' : may}${awaySince === null && !hasPassphrase ? ', without a passphrase' : ''}`,
      );
    }
  } else if (verb === 'passphrase' && words.length > 0) {
    const name = words.join(' ');
    const found = await personByName(name);
    if (!found) throw new Error(`expected the name of somebody who comes in here, got '${name}'`);
    const data = new FormData();
    data.set('passphrase', await askPassphrase(found.person.name));
    const parsed = parseForm(ResetForm, data);
    if (!parsed.ok) throw new Error(parsed.message);
    const done = await resetPassphrase(found.person.id, parsed.value.passphrase, new Date());
    if (!done.ok) throw new Error(done.message);
    console.log(done.message);
  } else throw new Error(`expected nothing, or passphrase NAME, got '${[verb, ...words].join(' ')}'`);
} catch (error) {
  console.error(`people: ${(error as Error).message}`);
  process.exitCode = 2;
} finally {
  await closeDiary();
}
