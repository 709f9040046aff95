/**
 * The process that serves: Next with the door in front of it. Plain JavaScript, so that Next runs in a Node without the
 * loader that the rest of this project's TypeScript needs; the front itself is read through tsx on its own.
 */
import next from 'next';
import pino from 'pino';
import { tsImport } from 'tsx/esm/api';

const { runFront } = await tsImport('./front.ts', import.meta.url);
await runFront({ next, log: pino({ level: process.env.SWATHBOOK_LOG ?? 'info', base: undefined, timestamp: pino.stdTimeFunctions.isoTime }) });
