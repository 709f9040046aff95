/** The few functions of jstat (1.9) this folder calls; the package ships no types. */
declare module 'jstat' {
  interface JStat {
    /** ln Γ(x), x > 0. */
    gammaln(x: number): number;
    /** Regularised incomplete beta function I_x(a, b), 0..1. */
    ibeta(x: number, a: number, b: number): number;
    /** Inverse of ibeta in x. */
    ibetainv(p: number, a: number, b: number): number;
    /** Regularised lower incomplete gamma function P(a, x), 0..1. */
    lowRegGamma(a: number, x: number): number;
    erf(x: number): number;
  }
  const jStat: JStat;
  export default jStat;
}
