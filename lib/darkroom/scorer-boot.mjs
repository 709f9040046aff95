// What a scoring worker starts with: makes its thread wait for whoever serves a page, then hands over to the compiled
// worker.
import { importCompiled } from '../compiled.mjs';
import { stepBack } from './step-back.mjs';

stepBack();
// The HEIC decoder logs its troubles: not into a command's answer.
console.log = console.error;
const { default: scoreOnWorker, cutOnWorker } = await importCompiled('lib/darkroom/scorer-worker');

export { cutOnWorker };
export default scoreOnWorker;
