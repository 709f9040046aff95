/**
 * Atomic weights, g/mol: IUPAC abridged values (Prohaska et al. 2022, Pure Appl Chem 94:573, table 3; digits from
 * memory).
 */
export const ATOMIC_WEIGHT = {
  H: 1.008,
  C: 12.011,
  N: 14.007,
  O: 15.999,
  Na: 22.99,
  Mg: 24.305,
  P: 30.974,
  S: 32.06,
  Cl: 35.45,
  K: 39.098,
  Ca: 40.078,
  Mn: 54.938,
  Fe: 55.845,
  Zn: 65.38,
} as const;
