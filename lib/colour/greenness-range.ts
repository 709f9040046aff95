/** The dark green colour index at either end of a greenness map's colours. */
export interface GreennessRange {
  readonly from: number;
  readonly to: number;
}

/** Wide enough for any turf; for a photo without a reading. */
export const ANY_TURF: GreennessRange = { from: 0.2, to: 0.7 };

const STEP = 0.05;
/** A plot's own patches lie this far about its index. */
const ABOUT = 0.06;

/**
 * The range that makes most of what a photo shows: its plots' indices and some room about them, in steps of 0.05, so
 * that photos of one look share their colours.
 * @param indices dark green colour index of each plot, 0 to 1
 */
export function greennessRange(indices: readonly number[]): GreennessRange {
  if (indices.length === 0) return ANY_TURF;
  const steps = (value: number) => Math.round(Math.min(1, Math.max(0, value * STEP)) * 100) / 100;
  return {
    from: steps(Math.floor((Math.min(...indices) - ABOUT) / STEP)),
    to: steps(Math.ceil((Math.max(...indices) + ABOUT) / STEP)),
  };
}
