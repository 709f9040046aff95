import 'server-only';
import type { HoursParser, HoursReply, HoursSource } from '@/lib/station/hours-source';

const failed = (reason: 'unreachable' | 'not-json' | 'not-hours', sentence: string): HoursReply => ({
  kind: 'failed',
  reason,
  sentence,
  last: null,
});

/**
 * A recorded answer behind the same interface as the service: for working offline and for tests.
 * @param readText gives the recording, such as a file's text; may fail
 * @param recordedAtUtcMs when it was recorded: its age is counted from there
 */
export function recordedSource(options: {
  readonly name: string;
  readonly readText: () => Promise<string>;
  readonly recordedAtUtcMs: number;
  readonly parse: HoursParser;
  readonly now: () => number;
}): HoursSource {
  return {
    name: options.name,
    async load() {
      let text: string;
      try {
        text = await options.readText();
      } catch {
        return failed('unreachable', `${options.name}: the recording can't be read.`); // missing or no leave to read it: either way there is none
      }
      let json: unknown;
      try {
        json = JSON.parse(text);
      } catch {
        return failed('not-json', `${options.name}: expected JSON, got something else.`);
      }
      const parsed = options.parse(json);
      if (!parsed.ok) return failed('not-hours', parsed.sentence);
      return {
        kind: 'hours',
        hours: parsed.hours,
        fetchedAtUtcMs: options.recordedAtUtcMs,
        ageMs: Math.max(0, options.now() - options.recordedAtUtcMs),
        fromCache: false,
      };
    },
  };
}
