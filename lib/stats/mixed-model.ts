import { LuDecomposition, Matrix } from 'ml-matrix';
import { fUpperP } from '@/lib/stats/f-distribution';
import { fitLinearModel, type LinearFit, type ModelData, type Term } from '@/lib/stats/linear-model';
import { choleskyOf } from '@/lib/stats/symmetric';
import {
  GIVEN_VARIANCE,
  randomLevels,
  randomLevelsWithin,
  repeatedDays,
  type OverDays,
  type RandomFactor,
  type VarianceStructure,
  type VarianceSums,
} from '@/lib/stats/variance-sums';

/**
 * What is random in a model beside the residuals: factors with independent levels, or one subject's errors over days.
 */
export type RandomPart =
  | {
      readonly kind: 'levels';
      /** Each crosses factors of the data: ['block', 'main'] is the main plot within its block. */
      readonly terms: readonly Term[];
      /**
       * True keeps every variance at 0 or above, as most programs do; false lets it fall below 0, which keeps the level
       * of tests.
       */
      readonly notBelowZero?: boolean;
      /**
       * A factor of the fixed part that all terms are nested in, such as the block of crossed strips: see
       * `randomLevelsWithin`.
       */
      readonly within?: string;
    }
  | {
      readonly kind: 'over-days';
      readonly subject: string;
      readonly day: readonly number[];
      readonly structure: OverDays;
    };

/** A linear function of the fixed coefficients with its Kenward-Roger standard error and degrees of freedom. */
export interface MixedEstimate {
  readonly value: number;
  readonly standardError: number;
  readonly df: number;
}

/** A joint test that several linear functions are all 0. */
export interface MixedTest {
  /** Scaled as Kenward & Roger do. */
  readonly f: number;
  readonly df1: number;
  readonly df2: number;
  readonly p: number;
}

export interface MixedFit {
  /**
   * The fixed part by plain least squares: its columns, levels and what can be told. Its errors are not this model's.
   */
  readonly fixed: LinearFit;
  readonly parameters: readonly { readonly name: string; readonly value: number }[];
  /** Restricted log-likelihood. */
  readonly logLik: number;
  /** Weights on the columns of `fixed`; null where the data cannot tell. */
  readonly estimate: (weights: readonly number[]) => MixedEstimate | null;
  /** Covariance of two estimable functions (Kenward-Roger adjusted). */
  readonly covariance: (a: readonly number[], b: readonly number[]) => number;
  /** Null where nothing of it can be told. */
  readonly test: (rows: readonly (readonly number[])[]) => MixedTest | null;
}

const MOST_STEPS = 200;

interface Point {
  readonly theta: readonly number[];
  readonly sums: VarianceSums;
  readonly logLik: number;
  /** (X' V⁻¹ X)⁻¹ */
  readonly phi: Matrix;
  readonly beta: Matrix;
  /** Expected information of the parameters. */
  readonly information: Matrix;
  readonly score: readonly number[];
}

function pointAt(structure: VarianceStructure, theta: readonly number[], n: number): Point | null {
  const sums = structure.sumsAt(theta);
  if (sums === null) return null;
  const p = sums.zero.columns - 1;
  const xx = sums.zero.subMatrix(0, p - 1, 0, p - 1);
  const cholesky = choleskyOf(xx);
  if (!cholesky.isPositiveDefinite()) return null;
  const phi = cholesky.solve(Matrix.identity(p));
  const beta = cholesky.solve(sums.zero.subMatrix(0, p - 1, p, p));
  const residual = new Matrix([...beta.to1DArray().map((value) => -value), 1].map((value) => [value]));
  const form = (matrix: Matrix): number => residual.transpose().mmul(matrix).mmul(residual).get(0, 0);
  const x = (matrix: Matrix): Matrix => matrix.subMatrix(0, p - 1, 0, p - 1);
  let logDetXx = 0;
  for (let i = 0; i < p; i++) logDetXx += 2 * Math.log(cholesky.lowerTriangularMatrix.get(i, i));
  const m = theta.length;
  const phiP = sums.first.map((one) => phi.mmul(x(one)));
  const information = Matrix.zeros(m, m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j <= i; j++) {
      const value =
        0.5 * (sums.traces[i]![j]! - 2 * phi.mmul(x(sums.second[i]![j]!)).trace() + phiP[i]!.mmul(phiP[j]!).trace());
      information.set(i, j, value);
      information.set(j, i, value);
    }
  }
  return {
    theta,
    sums,
    phi,
    beta,
    information,
    logLik: -0.5 * (sums.logDet + logDetXx + form(sums.zero) + (n - p) * Math.log(2 * Math.PI)),
    score: sums.first.map((one, i) => -0.5 * (sums.trace[i]! - phiP[i]!.trace()) + 0.5 * form(one)),
  };
}

const solve = (matrix: Matrix, right: readonly number[]): number[] | null => {
  const lu = new LuDecomposition(matrix);
  return lu.isSingular() ? null : lu.solve(Matrix.columnVector([...right])).to1DArray();
};

/**
 * Climbs the restricted likelihood by Fisher's scoring with halved steps; parameters held at 0 leave it when the slope
 * says so.
 */
function climb(structure: VarianceStructure, n: number, held: boolean): Point | null {
  let at = pointAt(structure, structure.start, n);
  if (at === null) return null;
  for (let step = 0; step <= MOST_STEPS; step++) {
    const here: Point = at;
    const free = here.theta.flatMap((value, i) => (held && i > 0 && value <= 0 && here.score[i]! <= 0 ? [] : [i]));
    const direction = solve(
      here.information.selection(free, free),
      free.map((i) => here.score[i]!),
    );
    if (direction === null) return null;
    const gain = direction.reduce((sum, value, k) => sum + value * here.score[free[k]!]!, 0);
    // The rest of the way is below 5e-8 standard errors of the parameters.
    if (gain < 2e-15 || (step === MOST_STEPS && gain < 1e-8)) return here;
    let next: Point | null = null;
    for (let size = 1; size > 1e-10; size /= 2) {
      const theta = here.theta.map((value, i) => {
        const k = free.indexOf(i);
        const moved = k < 0 ? value : value + size * direction[k]!;
        return held && i > 0 ? Math.max(0, moved) : moved;
      });
      const tried = pointAt(structure, theta, n);
      if (tried !== null && tried.logLik >= here.logLik - 1e-12 * Math.abs(here.logLik)) {
        next = tried;
        break;
      }
    }
    if (next === null) return gain < 1e-8 ? here : null;
    const change = Math.max(
      ...next.theta.map((value, i) => Math.abs(value - here.theta[i]!) / Math.max(1e-8, Math.abs(value))),
    );
    at = next;
    // Steps that shrink before the top is reached have run into the edge of what is a covariance matrix.
    if (change < 1e-12) return gain < 1e-8 ? at : null;
  }
  return null;
}

/**
 * Fits response = fixed terms + random part by restricted maximum likelihood, with Kenward & Roger's (1997) adjusted
 * covariance and degrees of freedom (to first order, as for variance components, where they are exact in complete
 * classical designs).
 * @returns null when the likelihood has no maximum inside the allowed parameters or there is nothing left to fit
 * @throws RangeError as fitLinearModel
 * @see Patterson & Thompson 1971, Biometrika 58:545; Kenward & Roger 1997, Biometrics 53:983
 */
export function fitMixedModel(
  data: ModelData,
  fixedTerms: readonly Term[],
  random: RandomPart,
  levelOrder: Readonly<Record<string, readonly string[]>> = {},
): MixedFit | null {
  const fixed = fitLinearModel(data, fixedTerms, levelOrder);
  if (fixed.residualDf < 2 || !(fixed.residualSs > 0)) return null;
  const n = data.response.length;
  // In units of the residual spread the parameters are near 1.
  const unit = Math.sqrt(fixed.residualSs / fixed.residualDf);
  const design = new Matrix(n, fixed.kept.length + 1);
  fixed.kept.forEach((column, c) => {
    for (let row = 0; row < n; row++) design.set(row, c, fixed.design[column]![row]!);
  });
  for (let row = 0; row < n; row++) design.set(row, fixed.kept.length, fixed.residuals[row]! / unit);
  const factor = (term: Term): RandomFactor => ({
    name: term.join(' × '),
    levels: data.response.map((_, i) => JSON.stringify(term.map((name) => data.factors[name]![i]))),
  });
  const held = random.kind === 'levels' && (random.notBelowZero ?? false);
  const around = random.kind === 'levels' && !held && random.within !== undefined ? factor([random.within]) : null;
  const structure =
    random.kind === 'over-days'
      ? repeatedDays(design, data.factors[random.subject]!, random.day, random.structure)
      : around
        ? randomLevelsWithin(design, random.terms.map(factor), around)
        : randomLevels(design, random.terms.map(factor), held);
  const found = climb(structure, n, held);
  if (found === null) return null;
  const { sums, phi, beta, theta, information } = found;
  const p = fixed.kept.length;
  const m = theta.length;
  const informationLu = new LuDecomposition(information);
  if (informationLu.isSingular()) return null;
  const w = informationLu.solve(Matrix.identity(m));
  const x = (matrix: Matrix): Matrix => matrix.subMatrix(0, p - 1, 0, p - 1);
  const firsts = sums.first.map(x);
  const inner = Matrix.zeros(p, p);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) {
      const second = i >= j ? x(sums.second[i]![j]!) : x(sums.second[j]![i]!).transpose();
      inner.add(Matrix.sub(second, firsts[i]!.mmul(phi).mmul(firsts[j]!)).mul(w.get(i, j)));
    }
  }
  const surplus =
    around && random.kind === 'levels'
      ? givenTooMuch(design, around, random.terms.map(factor), theta)
      : Matrix.zeros(p, p);
  const told = Matrix.sub(phi, surplus);
  const adjusted = Matrix.add(told, phi.mmul(inner).mmul(phi).mul(2));
  // −P_i of the paper between two Φ: the slope of Φ by parameter i.
  const slopes = firsts.map((one) => phi.mmul(one).mmul(phi));
  const pick = (weights: readonly number[]): Matrix => {
    if (weights.length !== fixed.columns.length)
      throw new RangeError(`weights: expected ${fixed.columns.length}, one a column, got ${weights.length}`);
    return Matrix.columnVector(fixed.kept.map((column) => weights[column]!));
  };
  const form = (a: Matrix, matrix: Matrix, b: Matrix): number => a.transpose().mmul(matrix).mmul(b).get(0, 0);

  const estimate = (weights: readonly number[]): MixedEstimate | null => {
    const plain = fixed.estimate(weights);
    if (plain === null) return null;
    const l = pick(weights);
    const variance = form(l, told, l);
    const slope = slopes.map((one) => form(l, one, l));
    let spread = 0;
    for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) spread += w.get(i, j) * slope[i]! * slope[j]!;
    // The response was taken as residuals of least squares, so its coefficients come on top.
    const value = plain.value + unit * l.transpose().mmul(beta).get(0, 0);
    return {
      value,
      standardError: unit * Math.sqrt(Math.max(0, form(l, adjusted, l))),
      df: spread > 0 ? (2 * variance ** 2) / spread : Infinity,
    };
  };

  const test = (rows: readonly (readonly number[])[]): MixedTest | null => {
    const rowsTold = independentRows(
      rows.filter((row) => fixed.estimate(row) !== null).map((row) => ({ row, picked: pick(row) })),
      told,
    );
    const q = rowsTold.length;
    if (q === 0) return null;
    const l = new Matrix(rowsTold.map(({ picked }) => picked.to1DArray())).transpose();
    const values = Matrix.columnVector(rowsTold.map(({ row }) => estimate(row)!.value / unit));
    const middle = new LuDecomposition(l.transpose().mmul(told).mmul(l)).solve(Matrix.identity(q));
    const theta0 = l.mmul(middle).mmul(l.transpose());
    const wald =
      form(values, new LuDecomposition(l.transpose().mmul(adjusted).mmul(l)).solve(Matrix.identity(q)), values) / q;
    const turned = slopes.map((one) => theta0.mmul(one));
    let a1 = 0;
    let a2 = 0;
    for (let i = 0; i < m; i++) {
      for (let j = 0; j < m; j++) {
        a1 += w.get(i, j) * turned[i]!.trace() * turned[j]!.trace();
        a2 += w.get(i, j) * turned[i]!.mmul(turned[j]!).trace();
      }
    }
    const { df2, scale } = kenwardRoger(q, a1, a2);
    const f = scale * wald;
    return df2 > 0 && Number.isFinite(f) ? { f, df1: q, df2, p: fUpperP(f, q, Math.min(df2, 1e8)) } : null;
  };

  return {
    fixed,
    parameters: structure.names.map((name, i) => ({
      name,
      value: structure.names[i]!.startsWith('correlation') ? theta[i]! : theta[i]! * unit ** 2,
    })),
    logLik: found.logLik - (n - p) * Math.log(unit),
    estimate,
    covariance: (a, b) => unit ** 2 * form(pick(a), adjusted, pick(b)),
    test,
  };
}

/**
 * What the given variance of the fixed factor's levels adds to the covariance of the fixed coefficients, K C K' with X
 * K = Z. As much of it stays as keeps what the random levels bring to the average over a level of that factor from
 * falling below 0: no comparison shows that variance, and a mean can't be surer than its plots.
 */
function givenTooMuch(
  design: Matrix,
  fixed: RandomFactor,
  random: readonly RandomFactor[],
  theta: readonly number[],
): Matrix {
  const names = [...new Set(fixed.levels)];
  const shared = random.reduce((sum, one, i) => sum + (theta[i + 1]! * names.length) / new Set(one.levels).size, 0);
  const x = design.subMatrix(0, design.rows - 1, 0, design.columns - 2);
  const indicators = new Matrix(fixed.levels.map((level) => names.map((name) => Number(level === name))));
  const k = choleskyOf(x.transpose().mmul(x)).solve(x.transpose().mmul(indicators));
  return k.mmul(k.transpose()).mul(GIVEN_VARIANCE - Math.max(0, -shared));
}

/** Rows that add something to those before them, judged in the metric of `phi`. */
function independentRows<T extends { readonly picked: Matrix }>(rows: readonly T[], phi: Matrix): T[] {
  const kept: T[] = [];
  for (const row of rows) {
    const size = row.picked.transpose().mmul(phi).mmul(row.picked).get(0, 0);
    const gram = new Matrix(
      [...kept, row].map((a) => [...kept, row].map((b) => a.picked.transpose().mmul(phi).mmul(b.picked).get(0, 0))),
    );
    const cholesky = choleskyOf(gram);
    const last = cholesky.isPositiveDefinite() ? cholesky.lowerTriangularMatrix.get(kept.length, kept.length) ** 2 : 0;
    if (last > 1e-9 * size) kept.push(row);
  }
  return kept;
}

/** Denominator degrees of freedom and scale of the F statistic. @see Kenward & Roger 1997, section 3 */
function kenwardRoger(q: number, a1: number, a2: number): { df2: number; scale: number } {
  if (!(a2 > 0)) return { df2: Infinity, scale: 1 };
  const b = (a1 + 6 * a2) / (2 * q);
  const g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2);
  const bottom = 3 * q + 2 * (1 - g);
  const [c1, c2, c3] = [g / bottom, (q - g) / bottom, (q + 2 - g) / bottom];
  const [v0, v1, v2] = [1 + c1 * b, 1 - c2 * b, 1 - c3 * b];
  const rest = 1 - a2 / q;
  // Both fall to 0 together in complete classical designs; their ratio is then 1.
  const ratio = Math.abs(rest) < 1e-10 && Math.abs(v1) < 1e-10 ? 1 : rest / v1;
  const rho = (ratio ** 2 * (Math.abs(v0) < 1e-10 ? 0 : v0)) / (q * v2);
  const df2 = 4 + (q + 2) / (q * rho - 1);
  // Of one row the scale is 1; at 2 degrees of freedom its formula is 0/0.
  return { df2, scale: q === 1 || Math.abs(df2 - 2) < 1e-2 ? 1 : (df2 * rest) / (df2 - 2) };
}
