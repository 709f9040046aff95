/**
 * `npm run worker`: takes readings, comparisons and archives from the queue on the diary's PostgreSQL until told to
 * stop. As many as there are machines; each needs SWATHBOOK_DATABASE, and the photos: the same SWATHBOOK_PHOTOS, or the
 * same data folder.
 */
import { stopScorers } from '@/lib/darkroom/scorer';
import { coresForPhotos } from '@/lib/darkroom/cores';
import { checkBucket, hasBucket } from '@/lib/darkroom/bucket';
import { closeDiary, diaryAnswers } from '@/lib/diary/client';
import { postgresqlUrl } from '@/lib/diary/engine';
import { takeAsked } from '@/lib/diary/asked-renewals';
import { closeQueue } from '@/lib/diary/work-queue';
import { readServing } from '@/lib/forms/environment';
import { takeArchives } from '@/lib/work/keep/archive-job';
import { stopComparer } from '@/lib/work/photos/comparer';
import { renewAsked } from '@/lib/work/photos/ask-renewal';

function end(sentence: string, code: number): never {
  console.error(`swathbook: ${sentence.replace(/^E/, 'e')}`);
  process.exit(code);
}

try {
  readServing();
} catch (error) {
  end((error as Error).message, 2);
}
if (postgresqlUrl() === undefined)
  end('SWATHBOOK_DATABASE: expected the PostgreSQL database whose queue this worker serves, got none', 2);
if (hasBucket()) await checkBucket().catch((error: Error) => end(error.message, 1));
if (!(await diaryAnswers()))
  end(
    'expected the database server of SWATHBOOK_DATABASE to answer with a diary, got none: start the server, then the pages once',
    1,
  );

let done = 0;
await takeAsked(
  async (asked) => {
    const renewed = await renewAsked(asked);
    done += 1;
    if (renewed > 0) console.log(`Lawn ${asked.lawnId}: ${renewed} photo(s) worked out.`);
  },
  // A lawn's photos go one after another; a long run through one lawn holds up no other.
  { lawns: Math.max(2, coresForPhotos()) },
);
await takeArchives((name) => {
  done += 1;
  console.log(`Archive ${name} made.`);
});
console.log('Waiting for work.');

for (const signal of ['SIGINT', 'SIGTERM'] as const) {
  process.once(signal, () => {
    void (async () => {
      await closeQueue().catch(() => undefined);
      await Promise.all([stopScorers(), stopComparer(), closeDiary()]);
      console.log(`Stopped after ${done} piece(s) of work.`);
      process.exit(0);
    })();
  });
}
