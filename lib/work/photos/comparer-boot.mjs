// What the comparing worker starts with: makes its thread wait, then hands over (see lib/darkroom/scorer-boot.mjs).
import { importCompiled } from '../../compiled.mjs';
import { stepBack } from '../../darkroom/step-back.mjs';

stepBack();
console.log = console.error;
const { default: onWorker } = await importCompiled('lib/work/photos/comparer-worker');

export default onWorker;
