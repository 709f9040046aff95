/**
 * How the colour index and its changes are written: three decimals, which is what one photo can tell; a real minus
 * sign.
 */

/** 0.08 -> '0.080'; the sign is dropped. */
export const indexSize = (value: number): string => Math.abs(value).toFixed(3);

/** 0.08 -> '+0.080', -0.08 -> '−0.080'; what rounds to nothing has no sign. */
export function signedIndex(value: number): string {
  const size = indexSize(value);
  return Number(size) === 0 ? size : `${value < 0 ? '−' : '+'}${size}`;
}

/** A share of a plot in percent to a tenth, as its mark's page has it; 0.18 -> '18 %'. */
export const shareText = (share: number): string => `${(share * 100).toFixed(1).replace(/\.0$/, '')} %`;
