import 'server-only';
import type {
  CachedHours,
  FailureReason,
  HoursCache,
  HoursParser,
  HoursReply,
  HoursRequest,
  HoursSource,
} from '@/lib/station/hours-source';

export interface ServiceOptions {
  /** Shown in sentences: the person's own word for the service. */
  readonly name: string;
  /**
   * Address with {latitude} {longitude} and perhaps {from} {to} {fields}. Nothing is asked of anyone until one is set.
   */
  readonly addressTemplate: string;
  /** The names put for {fields}. */
  readonly fieldNames: readonly string[];
  readonly parse: HoursParser;
  readonly cache: HoursCache;
  readonly now: () => number;
  /** Whole time for one try, ms. */
  readonly timeoutMs?: number;
  /** Tries in all; only what may pass (no connection, timeout, 429, 5xx) is tried again. */
  readonly tries?: number;
  /** Wait before the second try, ms; doubled each time. */
  readonly backoffMs?: number;
  readonly mostBytes?: number;
  /** A cached answer younger than this is given without asking, ms. */
  readonly freshMs?: number;
}

const date = (utcMs: number): string => new Date(utcMs).toISOString().slice(0, 10);

/**
 * The address for a request: coordinates to two decimals (about 1 km), so the service never learns the garden.
 * Exported so that what leaves this house can be read without sending it.
 */
export function serviceAddress(template: string, fieldNames: readonly string[], request: HoursRequest): string | null {
  const filled = template
    .replaceAll('{latitude}', request.latitudeDeg.toFixed(2))
    .replaceAll('{longitude}', request.longitudeDeg.toFixed(2))
    .replaceAll('{from}', date(request.fromUtcMs))
    .replaceAll('{to}', date(request.toUtcMs))
    .replaceAll('{fields}', fieldNames.map(encodeURIComponent).join(','));
  return URL.canParse(filled) && /^https?:$/.test(new URL(filled).protocol) ? filled : null;
}

type Try =
  | { readonly ok: true; readonly json: unknown }
  | { readonly ok: false; readonly reason: FailureReason; readonly sentence: string; readonly again: boolean };

async function readLimited(response: Response, mostBytes: number): Promise<string | null> {
  const reader = response.body?.getReader();
  if (reader === undefined) return '';
  const decoder = new TextDecoder();
  let bytes = 0;
  let text = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return text + decoder.decode();
    bytes += value.byteLength;
    if (bytes > mostBytes) {
      await reader.cancel();
      return null;
    }
    text += decoder.decode(value, { stream: true });
  }
}

async function askOnce(
  address: string,
  name: string,
  timeoutMs: number,
  mostBytes: number,
  outer: AbortSignal | undefined,
): Promise<Try> {
  const timeout = AbortSignal.timeout(timeoutMs);
  const signal = outer === undefined ? timeout : AbortSignal.any([timeout, outer]);
  try {
    const response = await fetch(address, { signal, redirect: 'manual', headers: { accept: 'application/json' } });
    if (response.status >= 300 && response.status < 400) {
      await response.body?.cancel();
      return {
        ok: false,
        reason: 'redirect',
        sentence: `${name}: expected weather, got sent to another address; put that address in the settings.`,
        again: false,
      };
    }
    if (!response.ok) {
      await response.body?.cancel();
      return {
        ok: false,
        reason: 'status',
        sentence: `${name}: expected weather, got error ${response.status}.`,
        again: response.status >= 500 || response.status === 429,
      };
    }
    const text = await readLimited(response, mostBytes);
    if (text === null)
      return {
        ok: false,
        reason: 'too-big',
        sentence: `${name}: expected at most ${Math.round(mostBytes / 1000).toLocaleString('en-US')} kB, got more.`,
        again: false,
      };
    try {
      return { ok: true, json: JSON.parse(text) as unknown };
    } catch {
      return { ok: false, reason: 'not-json', sentence: `${name}: expected JSON, got something else.`, again: false };
    }
  } catch (error) {
    if (outer?.aborted === true)
      return { ok: false, reason: 'stopped', sentence: `${name}: no longer waited for.`, again: false };
    if (timeout.aborted)
      return {
        ok: false,
        reason: 'timeout',
        sentence: `${name}: no answer within ${(timeoutMs / 1000).toLocaleString('en-US')} s.`,
        again: true,
      };
    const cause = error instanceof Error && error.cause instanceof Error ? error.cause : error;
    const code = cause instanceof Error && 'code' in cause ? ` (${String(cause.code)})` : '';
    return { ok: false, reason: 'unreachable', sentence: `${name}: can't be reached${code}.`, again: true };
  }
}

/**
 * Hours from an open JSON service over HTTP. Gives hours (with their age), or one sentence and the last good hours;
 * never throws. A fresh cached answer is given at once; requests without a signal for one address at one time share one
 * fetch.
 */
export function hourlyService(options: ServiceOptions): HoursSource {
  const {
    name,
    cache,
    now,
    parse,
    timeoutMs = 8000,
    tries = 3,
    backoffMs = 500,
    mostBytes = 5_000_000,
    freshMs = 30 * 60_000,
  } = options;
  const running = new Map<string, Promise<HoursReply>>();

  const remembered = async (address: string): Promise<CachedHours | null> => {
    try {
      return await cache.get(address);
    } catch {
      return null; // a cache that fails is as good as an empty one
    }
  };
  const withAge = (kept: CachedHours) => ({
    hours: kept.hours,
    fetchedAtUtcMs: kept.fetchedAtUtcMs,
    ageMs: Math.max(0, now() - kept.fetchedAtUtcMs),
  });

  const ask = async (address: string, signal: AbortSignal | undefined): Promise<HoursReply> => {
    const kept = await remembered(address);
    const last = kept === null ? null : withAge(kept);
    if (last !== null && last.ageMs < freshMs) return { kind: 'hours', ...last, fromCache: true };
    for (let attempt = 1; ; attempt += 1) {
      const got = await askOnce(address, name, timeoutMs, mostBytes, signal);
      if (got.ok) {
        const parsed = parse(got.json);
        if (!parsed.ok) return { kind: 'failed', reason: 'not-hours', sentence: parsed.sentence, last };
        const fetched = { hours: parsed.hours, fetchedAtUtcMs: now() };
        try {
          await cache.put(address, fetched);
        } catch {
          // the hours are good even if they can't be kept
        }
        return { kind: 'hours', ...fetched, ageMs: 0, fromCache: false };
      }
      if (!got.again || attempt >= tries) return { kind: 'failed', reason: got.reason, sentence: got.sentence, last };
      await new Promise((go) => {
        setTimeout(go, backoffMs * 2 ** (attempt - 1));
      });
    }
  };

  return {
    name,
    load(request) {
      const address = serviceAddress(options.addressTemplate, options.fieldNames, request);
      if (address === null)
        return Promise.resolve({
          kind: 'failed',
          reason: 'address',
          sentence: `${name}: expected a web address in the settings, got '${options.addressTemplate.slice(0, 80)}'.`,
          last: null,
        });
      if (request.signal !== undefined) return ask(address, request.signal); // one caller's leaving must not stop another's fetch
      const known = running.get(address);
      if (known !== undefined) return known;
      const asked = ask(address, undefined).finally(() => running.delete(address));
      running.set(address, asked);
      return asked;
    },
  };
}
