import { featureOf, type Feature } from './features';

/** What a mark looks like: silvery haze, blackening, scorch (burn), yellowing (chlorosis), or none of these. */
export const MARK_KINDS = ['silver', 'blackening', 'burn', 'chlorosis', 'other'] as const;
export type MarkKind = (typeof MARK_KINDS)[number];
export type NamedKind = Exclude<MarkKind, 'other'>;

/**
 * The colour a leaf goes to when the mark is complete, as linear sRGB reflectance: a pale grey film, near-black grey,
 * straw, yellow-green. A mark is turf mixed with that colour. Typical values of our own (measured on rendered marks,
 * no published source); only their direction from the turf's colour is used, never their amount.
 */
const MARK_COLOURS: Readonly<Record<NamedKind, readonly [number, number, number]>> = {
  silver: [0.235, 0.255, 0.24],
  blackening: [0.028, 0.034, 0.028],
  burn: [0.3, 0.25, 0.125],
  chlorosis: [0.25, 0.3, 0.055],
};

export const NAMED_KINDS = Object.keys(MARK_COLOURS) as NamedKind[];

/** The change of features when turf of that linear colour goes `share` of the way to a kind's colour. */
export function signatureOf(kind: NamedKind, turf: readonly [number, number, number], share: number): Feature {
  const target = MARK_COLOURS[kind];
  const from = featureOf(...turf);
  const to = featureOf(
    turf[0] + share * (target[0] - turf[0]),
    turf[1] + share * (target[1] - turf[1]),
    turf[2] + share * (target[2] - turf[2]),
  );
  return [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
}

/** Darker than this in ln(L* + 16) is blackening or soil, never haze, scorch or yellowing. */
const DARKER = -0.04;

/** Bounds of the chroma change's direction in degrees, 0 = straight towards grey, turning from red towards yellow. */
const SILVER_FROM = -25;
const SILVER_TO = 13;
const BURN_TO = 46;
const CHLOROSIS_TO = 125;
const BLACKENING_WITHIN = 40;

/**
 * Names a mark by where its chroma went, relative to the way from the turf's own colour to grey: towards grey and
 * darker = blackening; towards grey, not darker = silver; between grey and red = scorch; on to yellow = yellowing.
 */
export function kindOf(
  change: Feature,
  turf: readonly [number, number, number],
): { kind: MarkKind; directionDegrees: number } {
  const [, redGreen, yellowBlue] = featureOf(...turf);
  const towardsGrey = Math.atan2(-yellowBlue, -redGreen);
  const turn = ((Math.atan2(change[2], change[1]) - towardsGrey) * 180) / Math.PI;
  const directionDegrees = ((((turn + 180) % 360) + 360) % 360) - 180;
  return { kind: named(change[0], directionDegrees), directionDegrees };
}

function named(lighter: number, direction: number): MarkKind {
  if (lighter < DARKER) return Math.abs(direction) < BLACKENING_WITHIN ? 'blackening' : 'other';
  if (direction > SILVER_FROM && direction <= SILVER_TO) return 'silver';
  if (direction > SILVER_TO && direction <= BURN_TO) return 'burn';
  if (direction > BURN_TO && direction < CHLOROSIS_TO) return 'chlorosis';
  return 'other';
}
