import { Matrix } from 'ml-matrix';
import { contrastOf, type MeansTable } from '@/lib/stats/compare-means';
import { fUpperP } from '@/lib/stats/f-distribution';
import { choleskyOf } from '@/lib/stats/symmetric';
import { tQuantile, tTwoSidedP } from '@/lib/stats/student-t';

/** One part of a response to rate: change of the response per unit of the rate (or per its square). */
export interface RatePart {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly t: number;
  readonly df: number;
  readonly p: number;
}

/** How adjusted means follow the rate. */
export interface RateResponse {
  readonly rates: readonly { readonly level: string; readonly rate: number; readonly mean: number }[];
  readonly linear: RatePart;
  /** Bend: null with two rates. */
  readonly quadratic: RatePart | null;
  /** What neither line nor bend explains; null with three rates or fewer. */
  readonly lackOfFit: { readonly f: number; readonly df1: number; readonly df2: number; readonly p: number } | null;
  /** Where the curve turns, when the bend is shown and it turns within the rates tried. */
  readonly turnsAt: number | null;
}

/** Columns made orthogonal to each other and to the constant, in the given order. */
function orthogonalPowers(rates: readonly number[], most: number): number[][] {
  const n = rates.length;
  const centre = rates.reduce((sum, rate) => sum + rate, 0) / n;
  const reach = Math.max(...rates.map((rate) => Math.abs(rate - centre)));
  const columns: number[][] = [Array.from({ length: n }, () => 1)];
  for (let power = 1; power <= most; power++) {
    let column = rates.map((rate) => ((rate - centre) / reach) ** power);
    for (let pass = 0; pass < 2; pass++) {
      for (const other of columns) {
        const share =
          column.reduce((sum, value, i) => sum + value * other[i]!, 0) /
          other.reduce((sum, value) => sum + value * value, 0);
        column = column.map((value, i) => value - share * other[i]!);
      }
    }
    columns.push(column);
  }
  return columns.slice(1);
}

/**
 * Linear and quadratic response of adjusted means to a rate, by orthogonal polynomials for whatever spacing, and what
 * is left. Null with fewer than two different rates.
 * @param rates rate of each level; levels not in it take no part
 * @see Gomez & Gomez 1984, 5.1.2.4 (trend comparison); unequal spacing: Grandage 1958, Biometrics 14:287
 */
export function rateResponse(table: MeansTable, rates: Readonly<Record<string, number>>): RateResponse | null {
  const at = table.levels
    .flatMap((level, i) => (rates[level] === undefined ? [] : [{ level, i, rate: rates[level] }]))
    .sort((a, b) => a.rate - b.rate);
  const distinct = new Set(at.map((one) => one.rate)).size;
  if (distinct < 2 || distinct < at.length) return null;
  const powers = orthogonalPowers(
    at.map((one) => one.rate),
    at.length - 1,
  );
  const spread = (column: readonly number[]): number[] => {
    const weights = table.levels.map(() => 0);
    at.forEach(({ i }, k) => (weights[i] = column[k]!));
    return weights;
  };
  const part = (power: number): RatePart => {
    const column = powers[power - 1]!;
    const size = column.reduce((sum, value) => sum + value * value, 0);
    // Coefficient of rate^power: what the orthogonal column holds of it.
    const per = column.reduce((sum, value, k) => sum + value * at[k]!.rate ** power, 0);
    const { value, standardError, df } = contrastOf(table, spread(column));
    const scaled = value / per;
    const error = standardError / Math.abs(per);
    const t = size > 0 ? value / standardError : 0;
    const reach = tQuantile(0.975, df) * error;
    return { value: scaled, low: scaled - reach, high: scaled + reach, t, df, p: tTwoSidedP(t, df) };
  };
  const linear = part(1);
  const quadratic = at.length >= 3 ? part(2) : null;
  let turnsAt: number | null = null;
  if (quadratic !== null && quadratic.p < 0.05) {
    // The fitted curve: linear and quadratic orthogonal parts put back together; its slope at a rate r is b1 + 2 b2 (r
    // − m).
    const mean = at.reduce((sum, one) => sum + one.rate, 0) / at.length;
    const second = at.reduce((sum, one) => sum + (one.rate - mean) ** 2, 0);
    const third = at.reduce((sum, one) => sum + (one.rate - mean) ** 3, 0);
    const turn = mean - (linear.value - (quadratic.value * third) / second) / (2 * quadratic.value);
    if (turn > at[0]!.rate && turn < at.at(-1)!.rate) turnsAt = turn;
  }
  const rest = powers.slice(2);
  let lackOfFit: RateResponse['lackOfFit'] = null;
  if (rest.length > 0) {
    const weights = rest.map(spread);
    const values = new Matrix(weights.map((row) => [contrastOf(table, row).value]));
    const c = new Matrix(weights);
    const v = c.mmul(new Matrix(table.covariance.map((row) => [...row]))).mmul(c.transpose());
    const cholesky = choleskyOf(v);
    if (cholesky.isPositiveDefinite()) {
      const f = values.transpose().mmul(cholesky.solve(values)).get(0, 0) / rest.length;
      const df2 = Math.min(...weights.map((row) => contrastOf(table, row).df));
      lackOfFit = { f, df1: rest.length, df2, p: fUpperP(f, rest.length, df2) };
    }
  }
  return {
    rates: at.map(({ level, i, rate }) => ({ level, rate, mean: table.means[i]! })),
    linear,
    quadratic,
    lackOfFit,
    turnsAt,
  };
}
