import 'server-only';
import type { WeatherHour } from '@/lib/weather/hour';

/** What is asked of any source of hours, near or far. */
export interface HoursRequest {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  /** Span wanted, UTC ms; a source may give more. */
  readonly fromUtcMs: number;
  readonly toUtcMs: number;
  /** The page's own signal: work stops when nobody waits any more. */
  readonly signal?: AbortSignal;
}

export type FailureReason =
  | 'address'
  | 'unreachable'
  | 'timeout'
  | 'status'
  | 'redirect'
  | 'too-big'
  | 'not-json'
  | 'not-hours'
  | 'stopped';

/** Hours with their age, or one sentence why there are none; then perhaps the last good hours, with their age. */
export type HoursReply =
  | {
      readonly kind: 'hours';
      readonly hours: readonly WeatherHour[];
      readonly fetchedAtUtcMs: number;
      readonly ageMs: number;
      readonly fromCache: boolean;
    }
  | {
      readonly kind: 'failed';
      readonly reason: FailureReason;
      readonly sentence: string;
      readonly last: {
        readonly hours: readonly WeatherHour[];
        readonly fetchedAtUtcMs: number;
        readonly ageMs: number;
      } | null;
    };

/**
 * A source of weather hours: a service over HTTP or a recorded answer. Never throws and never waits longer than it
 * says.
 */
export interface HoursSource {
  readonly name: string;
  load(request: HoursRequest): Promise<HoursReply>;
}

/** Turns a parsed answer into hours, or says in one sentence what it expected. */
export type HoursParser = (
  json: unknown,
) => { readonly ok: true; readonly hours: readonly WeatherHour[] } | { readonly ok: false; readonly sentence: string };

export interface CachedHours {
  readonly hours: readonly WeatherHour[];
  readonly fetchedAtUtcMs: number;
}

/** Where the last good answers lie; a cache that fails is as good as an empty one. */
export interface HoursCache {
  get(key: string): Promise<CachedHours | null>;
  put(key: string, value: CachedHours): Promise<void>;
}
