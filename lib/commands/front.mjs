/**
 * The process that serves: Next with the door in front of it. Plain JavaScript, so that Next is loaded from where it
 * lies; the front itself is compiled.
 */
import next from 'next';
import { parseAndValidateFlightRouterState } from 'next/dist/server/app-render/parse-and-validate-flight-router-state.js';
import pino from 'pino';
import { importCompiled } from '../compiled.mjs';

const { runFront } = await importCompiled('lib/commands/front');
/**
 * Next's own reader of that header, which throws for what it can't read: asked here, since a page that throws answers
 * 500.
 */
function isRouterState(header) {
  try {
    parseAndValidateFlightRouterState(header);
    return true;
  } catch {
    return false;
  }
}

await runFront({
  next,
  isRouterState,
  log: pino({ level: process.env.SWATHBOOK_LOG ?? 'info', base: undefined, timestamp: pino.stdTimeFunctions.isoTime }),
});
