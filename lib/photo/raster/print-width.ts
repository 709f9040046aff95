/** The sizes in which a photo is shown: longest side in px of a thumbnail, a page's picture and a close look. */
export const PRINT_WIDTHS = [320, 960, 1600] as const;
export type PrintWidth = (typeof PRINT_WIDTHS)[number];
