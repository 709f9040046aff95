// A thread does not inherit the loader of a server that was not started with it, so it brings its own.
import { register } from 'tsx/esm/api';

register();
await import('./worker.ts');
