import { significant } from '@/lib/units/display';
import type { TrialMeasure } from '@/lib/forms/trial-form';

export const MEASURE_WORDS: Readonly<Record<TrialMeasure, string>> = {
  'change-against-check': 'change against the check',
  change: 'index after less before, light and all',
  'adjusted-for-baseline': 'index, adjusted for before the spray',
  index: 'dark green colour index as photographed',
  rating: 'rating, 1 to 9',
  measured: 'measured on the lawn',
};

const signed = (value: number, digits: number) => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;

/** Number of decimals a measure is shown with. */
const digitsOf = (measure: TrialMeasure): number => (measure === 'rating' ? 2 : 3);

/** How a value of the measure is written. */
export const shownBy = (measure: TrialMeasure) => (value: number) =>
  measure === 'measured'
    ? significant(value, 4)
    : measure === 'index' || measure === 'adjusted-for-baseline' || measure === 'rating'
      ? value.toFixed(digitsOf(measure))
      : signed(value, 3);

export const pText = (p: number | null) => (p === null ? '' : p < 0.0001 ? '< 0.0001' : p.toFixed(4));
