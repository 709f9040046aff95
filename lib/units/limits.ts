/**
 * What a lawn can hold, in canonical units: beyond these a typed amount is a slip of unit or of decimal point. Common
 * practice, no source.
 */
export const SENSIBLE = {
  /** Closest-cut putting greens are 2 to 3 mm, the highest rough and meadow grass about 150. */
  mowingHeightM: { min: 0.002, max: 0.25 },
  /** A knapsack to a boom sprayer. */
  tankL: { min: 0.1, max: 20_000 },
  airTempC: { min: -40, max: 55 },
  windMPerS: { min: 0, max: 60 },
  /** 10 to 12,000 L/ha: a fine mist to a drench. */
  carrierLPerHa: { min: 5, max: 20_000 },
  waterMm: { min: 0, max: 400 },
  sideM: { min: 0.05, max: 2000 },
  areaM2: { min: 0.01, max: 1_000_000 },
} as const;
