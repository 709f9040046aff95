import type { Role } from './application';
import { type GuaranteedAnalysis, totalNPercent } from './nutrients';

/**
 * From this share of a nutrient on, a product counts as one that brings it, whatever it is mainly for: 5 % of N, P2O5
 * or K2O, 1 % of Fe, Mn or Mg (common practice, no source).
 */
const MAIN_PERCENT = 5;
const TRACE_PERCENT = 1;

/** The roles of a product: what it is said to be for, and every nutrient it holds a fair share of. */
export function rolesOf(statedFor: Role, analysis: GuaranteedAnalysis): readonly Role[] {
  const held: readonly (readonly [Role, number, number])[] = [
    ['nitrogen', totalNPercent(analysis), MAIN_PERCENT],
    ['phosphorus', analysis.p2o5Percent ?? 0, MAIN_PERCENT],
    ['potassium', analysis.k2oPercent ?? 0, MAIN_PERCENT],
    ['iron', analysis.fePercent ?? 0, TRACE_PERCENT],
    ['manganese', analysis.mnPercent ?? 0, TRACE_PERCENT],
    ['magnesium', analysis.mgPercent ?? 0, TRACE_PERCENT],
  ];
  return [...new Set([statedFor, ...held.filter(([, percent, least]) => percent >= least).map(([role]) => role)])];
}
