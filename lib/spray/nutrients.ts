import { expectNotNegative, refused, type Refusal } from '@/lib/expect';
import { ATOMIC_WEIGHT as W } from '@/lib/units/atomic-weight';

/**
 * The elements a label may guarantee. Everything is counted as the element; a label's P2O5 and K2O are turned into P
 * and K here only.
 */
export const ELEMENTS = ['N', 'P', 'K', 'S', 'Fe', 'Mn', 'Mg', 'Zn', 'Ca'] as const;
export type Element = (typeof ELEMENTS)[number];
/** An amount of each element; the unit is the holder's. */
export type PerElement = Readonly<Record<Element, number>>;

/** P in P2O5 by weight: 0.43643. Labels use 0.436 or 0.44; 0.44 is 0.8 % high. */
export const P_IN_P2O5 = (2 * W.P) / (2 * W.P + 5 * W.O);
/** K in K2O by weight: 0.83015. Labels use 0.83. */
export const K_IN_K2O = (2 * W.K) / (2 * W.K + W.O);

/** Guaranteed analysis, percent by weight as the label prints it: P as P2O5, K as K2O, the rest as the element. */
export interface GuaranteedAnalysis {
  readonly totalNPercent?: number | undefined;
  readonly ammoniacalNPercent?: number | undefined;
  readonly nitrateNPercent?: number | undefined;
  readonly ureaNPercent?: number | undefined;
  readonly otherWaterSolubleNPercent?: number | undefined;
  /** A line of its own on some labels, a footnote over the lines above on others; never added to a printed total. */
  readonly slowlyAvailableNPercent?: number | undefined;
  readonly p2o5Percent?: number | undefined;
  readonly k2oPercent?: number | undefined;
  readonly sPercent?: number | undefined;
  readonly fePercent?: number | undefined;
  readonly mnPercent?: number | undefined;
  readonly mgPercent?: number | undefined;
  readonly znPercent?: number | undefined;
  readonly caPercent?: number | undefined;
}

const N_FORMS = ['ammoniacalNPercent', 'nitrateNPercent', 'ureaNPercent', 'otherWaterSolubleNPercent'] as const;
/** Labels round each line to 0.01 or 0.1: four lines may overshoot the printed total by this much, percent. */
const ROUNDING_PERCENT = 0.2;

/** Total N by the label: the printed total, else the sum of the forms, percent. */
export function totalNPercent(analysis: GuaranteedAnalysis): number {
  if (analysis.totalNPercent !== undefined) return analysis.totalNPercent;
  return N_FORMS.reduce((sum, form) => sum + (analysis[form] ?? 0), analysis.slowlyAvailableNPercent ?? 0);
}

/** The first thing a label can't print, or null when the analysis can be. */
export function analysisFault(analysis: GuaranteedAnalysis): Refusal | null {
  for (const [field, percent] of Object.entries(analysis) as [keyof GuaranteedAnalysis, number | undefined][]) {
    if (percent !== undefined && !(percent >= 0 && percent <= 100))
      return refused(field, `${field}: expected 0 to 100 percent, got ${percent}.`);
  }
  const total = totalNPercent(analysis);
  const forms = N_FORMS.reduce((sum, form) => sum + (analysis[form] ?? 0), 0);
  if (forms > total + ROUNDING_PERCENT)
    return refused(
      'totalNPercent',
      `Total N: expected at least ${round(forms)} percent, the sum of its forms, got ${total}.`,
    );
  if ((analysis.slowlyAvailableNPercent ?? 0) > total)
    return refused(
      'slowlyAvailableNPercent',
      `Slowly available N: expected at most the total of ${total} percent, got ${analysis.slowlyAvailableNPercent}.`,
    );
  const sum =
    total +
    (analysis.p2o5Percent ?? 0) +
    (analysis.k2oPercent ?? 0) +
    (analysis.sPercent ?? 0) +
    (analysis.fePercent ?? 0) +
    (analysis.mnPercent ?? 0) +
    (analysis.mgPercent ?? 0) +
    (analysis.znPercent ?? 0) +
    (analysis.caPercent ?? 0);
  if (sum > 100 + ROUNDING_PERCENT)
    return refused('totalNPercent', `Guaranteed analysis: expected at most 100 percent in all, got ${round(sum)}.`);
  return null;
}

function round(percent: number): number {
  return Number(percent.toFixed(2));
}

/**
 * Share of each element in the product by mass, 0 to 1.
 * @throws RangeError when the analysis can't be (see `analysisFault`)
 * @example elementShares({ totalNPercent: 21, sPercent: 24 }).N // 0.21
 */
function elementShares(analysis: GuaranteedAnalysis): PerElement {
  const fault = analysisFault(analysis);
  if (fault) throw new RangeError(fault.sentence);
  return {
    N: totalNPercent(analysis) / 100,
    P: ((analysis.p2o5Percent ?? 0) / 100) * P_IN_P2O5,
    K: ((analysis.k2oPercent ?? 0) / 100) * K_IN_K2O,
    S: (analysis.sPercent ?? 0) / 100,
    Fe: (analysis.fePercent ?? 0) / 100,
    Mn: (analysis.mnPercent ?? 0) / 100,
    Mg: (analysis.mgPercent ?? 0) / 100,
    Zn: (analysis.znPercent ?? 0) / 100,
    Ca: (analysis.caPercent ?? 0) / 100,
  };
}

/** None of anything. */
export const NO_NUTRIENTS: PerElement = { N: 0, P: 0, K: 0, S: 0, Fe: 0, Mn: 0, Mg: 0, Zn: 0, Ca: 0 };

/**
 * Each element in an amount of product, in the amount's own unit (kg, or kg/ha).
 * @throws RangeError for a negative amount
 */
export function nutrientsIn(analysis: GuaranteedAnalysis, productAmount: number): PerElement {
  expectNotNegative('product amount', productAmount, '');
  const shares = elementShares(analysis);
  return perElement((element) => shares[element] * productAmount);
}

/** The sum of several, element by element. */
export function sumNutrients(list: readonly PerElement[]): PerElement {
  return perElement((element) => list.reduce((sum, one) => sum + one[element], 0));
}

/** One figure for each element. */
export function perElement(give: (element: Element) => number): PerElement {
  return {
    N: give('N'),
    P: give('P'),
    K: give('K'),
    S: give('S'),
    Fe: give('Fe'),
    Mn: give('Mn'),
    Mg: give('Mg'),
    Zn: give('Zn'),
    Ca: give('Ca'),
  };
}

/** What a nutrient rate may be asked for as: an element, or the oxide of the trade. */
export const NUTRIENT_BASES = [...ELEMENTS, 'P2O5', 'K2O'] as const;
export type NutrientBasis = (typeof NUTRIENT_BASES)[number];

/** Share of the nutrient in the product by mass, on the basis asked for. */
export function shareOnBasis(analysis: GuaranteedAnalysis, basis: NutrientBasis): number {
  const shares = elementShares(analysis);
  if (basis === 'P2O5') return shares.P / P_IN_P2O5;
  return basis === 'K2O' ? shares.K / K_IN_K2O : shares[basis];
}
