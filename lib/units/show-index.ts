/** How the colour index and its changes are written: three decimals, which is what one photo can tell; a real minus sign. */

/** 0.08 -> '0.080'; the sign is dropped. */
export const indexSize = (value: number): string => Math.abs(value).toFixed(3);

/** 0.08 -> '+0.080', -0.08 -> '−0.080'; what rounds to nothing has no sign. */
export function signedIndex(value: number): string {
  const size = indexSize(value);
  return Number(size) === 0 ? size : `${value < 0 ? '−' : '+'}${size}`;
}

/** A share of a plot in whole percent; below 1 % to a tenth. */
export function shareText(share: number): string {
  const percent = share * 100;
  return `${percent < 1 ? percent.toFixed(1) : percent.toFixed(0)} %`;
}
