import { FolderInUse, holdFolder } from '../../lib/door/folder-lock';

/**
 * lock-contender.ts FOLDER: told to (a byte on its input), tries to take the folder, says what came of it, and holds on
 * until its input ends.
 */
process.stdin.once('data', () => {
  try {
    holdFolder(process.argv[2] ?? '', 'serving');
    process.stdout.write('mine');
  } catch (error) {
    process.stdout.write(error instanceof FolderInUse ? 'refused' : String(error));
  }
});
process.stdout.write('ready ');
