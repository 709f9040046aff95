// What a scoring worker starts with: teaches its thread TypeScript, then hands over. The flag --import tsx does not reach a
// worker's thread on Node 20, the call does.
import { stepBack } from './step-back.mjs';
import { register } from 'tsx/esm/api';

stepBack();
register();
// The HEIC decoder logs its troubles: not into a command's answer.
console.log = console.error;
const { default: scoreOnWorker } = await import('./scorer-worker.ts');

export default scoreOnWorker;
