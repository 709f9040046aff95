/**
 * The process that serves: Next with the door in front of it. Plain JavaScript, so that Next runs in a Node without the
 * loader that the rest of this project's TypeScript needs; the front itself is read through tsx on its own.
 */
import { fileURLToPath } from 'node:url';
import next from 'next';
import { parseAndValidateFlightRouterState } from 'next/dist/server/app-render/parse-and-validate-flight-router-state.js';
import pino from 'pino';
import { tsImport } from 'tsx/esm/api';

// The front reads the diary's sessions, so it takes the paths and the package names as the pages' bundles do.
const { runFront } = await tsImport('./front.ts', { parentURL: import.meta.url, tsconfig: fileURLToPath(new URL('front.tsconfig.json', import.meta.url)) });
/** Next's own reader of that header, which throws for what it can't read: asked here, since a page that throws answers 500. */
function isRouterState(header) {
  try {
    parseAndValidateFlightRouterState(header);
    return true;
  } catch {
    return false;
  }
}

await runFront({ next, isRouterState, log: pino({ level: process.env.SWATHBOOK_LOG ?? 'info', base: undefined, timestamp: pino.stdTimeFunctions.isoTime }) });
