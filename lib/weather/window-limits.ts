import { toC } from '@/lib/units/temperature';
import { toMPerS } from '@/lib/units/speed';

const MPH = toMPerS({ value: 1, unit: 'mph' });

/** Best to worst; `unknown` where the number that decides is missing. */
export type Suitability = 'suitable' | 'doubtful' | 'unsuitable' | 'unknown';

export type ReasonTopic =
  | 'drying'
  | 'delta-t'
  | 'wind'
  | 'gust'
  | 'temperature'
  | 'heat-ahead'
  | 'rain-ahead'
  | 'leaf-wet'
  | 'light';

export interface Reason {
  readonly topic: ReasonTopic;
  readonly verdict: Suitability;
  /** The number judged, in `unit`; null when it isn't known or there is none (a film that doesn't dry). */
  readonly value: number | null;
  readonly unit: string;
  /** The limit it was judged by, in words with numbers. */
  readonly limit: string;
  /** Where the limit comes from, or 'common practice, no source'. */
  readonly source: string;
  readonly sentence: string;
}

/** Limits a lawn keeper may change; the defaults and their sources are in DEFAULT_LIMITS. */
export interface WindowLimits {
  /** Minutes the film should stay wet: below the first unsuitable, below the second doubtful. */
  readonly leastWetMin: number;
  readonly goodWetMin: number;
  /** Longer than this on the leaf is doubtful, minutes. */
  readonly longestWetMin: number;
  readonly calmMPerS: number;
  readonly goodWindMPerS: number;
  readonly mostWindMPerS: number;
  readonly leastTempC: number;
  readonly goodMinTempC: number;
  readonly goodMaxTempC: number;
  readonly mostTempC: number;
  /** Rain of this much, mm, within `rainUnsuitableHours` is unsuitable, within `rainDoubtfulHours` doubtful. */
  readonly rainMm: number;
  readonly rainUnsuitableHours: number;
  readonly rainDoubtfulHours: number;
  readonly rainChancePercent: number;
}

// prettier-ignore
export const DEFAULT_LIMITS: WindowLimits = {
  leastWetMin: 10, goodWetMin: 20, longestWetMin: 480,
  calmMPerS: 3 * MPH, goodWindMPerS: 8 * MPH, mostWindMPerS: 10 * MPH,
  leastTempC: 4, goodMinTempC: 10, goodMaxTempC: toC({ value: 80, unit: 'degF' }), mostTempC: toC({ value: 85, unit: 'degF' }),
  rainMm: 0.25, rainUnsuitableHours: 4, rainDoubtfulHours: 6, rainChancePercent: 50,
};

/** Order of verdicts for ranking, best first: a known bar outweighs an unknown. */
export const RANK: Record<Suitability, number> = { suitable: 0, doubtful: 1, unknown: 2, unsuitable: 3 };

/** The worst of several verdicts; a known 'unsuitable' outweighs an unknown. */
export function worstVerdict(verdicts: readonly Suitability[]): Suitability {
  return verdicts.reduce<Suitability>((worst, one) => (RANK[one] > RANK[worst] ? one : worst), 'suitable');
}
