import { toC } from '@/lib/units/temperature';
import { HEAT_CAUTION_C, HEAT_STOP_IRON_C } from './burn-checks';

/**
 * Cool-season grasses grow best at 18 to 24 °C, warm-season ones at 27 to 35 °C: Christians, Fundamentals of Turfgrass
 * Management (65-75 and 80-95 °F).
 */
export type GrassSeason = 'cool' | 'warm';

const WARM =
  /bermuda|couch|cynodon|zoysia|august|buffalo ?turf|stenotaphrum|centipede|eremochloa|bahia|paspalum|buffalo|bouteloua|kikuyu|carpet ?grass|axonopus|warm.?season/i;
const COOL = /blue ?grass|\bpoa\b|\bkbg\b|rye|lolium|fescue|festuca|bent|agrostis|cool.?season/i;

/** The season of a lawn's grass by its name; null when the name says neither, or both. */
export function grassSeason(grass: string): GrassSeason | null {
  const [warm, cool] = [WARM.test(grass), COOL.test(grass)];
  return warm === cool ? null : warm ? 'warm' : 'cool';
}

export interface HeatLimits {
  readonly warmC: number;
  readonly hotC: number;
  readonly source: string;
}

/** 80 and 85 °F: cool-season grass uses more than it makes above them. */
const COOL_LIMITS: HeatLimits = {
  warmC: HEAT_CAUTION_C,
  hotC: HEAT_STOP_IRON_C,
  source:
    'University of Nebraska turf, July 2022 (from where cool-season grass is in deficit); the trade’s limits for iron',
};
/** 95 °F ends the range warm-season grass likes; 5 °F more as for cool-season grass. */
const WARM_LIMITS: HeatLimits = {
  warmC: toC({ value: 95, unit: 'degF' }),
  hotC: toC({ value: 100, unit: 'degF' }),
  source:
    'Christians, Fundamentals of Turfgrass Management (what warm-season grass likes); the hotter limit common practice, no source',
};

/** From where on heat speaks for damage; a grass nobody named is held to the cool-season limits, the lower ones. */
export function heatLimits(season: GrassSeason | null): HeatLimits {
  return season === 'warm' ? WARM_LIMITS : COOL_LIMITS;
}
