'use client';
import { useDarkMode } from '../dark-mode';

/**
 * Okabe and Ito 2008: eight colours told apart by all kinds of colour vision; each series has its own point shape as
 * well.
 */
export const seriesColours = ['#0072b2', '#d55e00', '#009e73', '#cc79a7', '#e69f00', '#56b4e9', '#7f7f7f'];
export const shapes = ['circle', 'rect', 'triangle', 'rectRot', 'star', 'crossRot', 'cross'] as const;

/** The canvas has no style sheet: ink, grid and ground for the scheme the page is shown in. */
export function useChartInks(): { dark: boolean; ink: string; grid: string; sheet: string } {
  const dark = useDarkMode();
  return dark
    ? { dark, ink: '#eef2ee', grid: '#39453e', sheet: '#1c2420' }
    : { dark, ink: '#1b2620', grid: '#d8d3c4', sheet: '#ffffff' };
}
