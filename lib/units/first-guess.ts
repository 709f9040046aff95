import type { UnitSystem } from './display';

/**
 * Regions that read customary units: the United States and its territories, Liberia. Myanmar and the United Kingdom mix
 * both and are left to the reader.
 */
const CUSTOMARY_REGIONS = ['US', 'PR', 'GU', 'VI', 'AS', 'MP', 'LR'];

/**
 * The first guess at a reader's units, from the languages a browser asks for in order (Accept-Language). A plain `en`
 * is taken as American.
 * @example unitsOfLanguages('en-GB,en;q=0.8') // 'metric'
 */
export function unitsOfLanguages(languages: string): UnitSystem {
  const [first = ''] = languages.split(',').map((one) => (one.split(';')[0] ?? '').trim());
  const region = first
    .split('-')
    .find((part, at) => at > 0 && /^[A-Za-z]{2}$/.test(part))
    ?.toUpperCase();
  if (region === undefined) return /^(en)?$/i.test(first) || first === '*' ? 'us-customary' : 'metric';
  return CUSTOMARY_REGIONS.includes(region) ? 'us-customary' : 'metric';
}
