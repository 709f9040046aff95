// What a comparing thread of a command starts with: nobody else waits for its process, so it does not step back (see
// comparer-boot.mjs).
import { importCompiled } from '../../compiled.mjs';

// The HEIC decoder logs its troubles: not into a command's answer.
console.log = console.error;
const { default: onWorker } = await importCompiled('lib/work/photos/comparer-worker');

export default onWorker;
