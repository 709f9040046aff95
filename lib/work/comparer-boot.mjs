// What the comparing worker starts with: teaches its thread TypeScript, then hands over (see lib/darkroom/scorer-boot.mjs).
import { register } from 'tsx/esm/api';
import { stepBack } from '../darkroom/step-back.mjs';

stepBack();
register();
console.log = console.error;
const { default: onWorker } = await import('./comparer-worker.ts');

export default onWorker;
