// What the comparing worker starts with: teaches its thread TypeScript, then hands over (see lib/darkroom/scorer-boot.mjs).
import { register } from 'tsx/esm/api';

register();
console.log = console.error;
const { default: onWorker } = await import('./comparer-worker.ts');

export default onWorker;
