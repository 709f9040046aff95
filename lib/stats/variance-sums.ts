import { LuDecomposition, Matrix } from 'ml-matrix';
import { choleskyOf } from '@/lib/stats/symmetric';

/**
 * What a mixed model asks of its covariance matrix V of the observations, at given parameters: sums over observations
 * only, so that nobody holds V itself. D is the design with the response as last column; V_i the derivative of V by
 * parameter i.
 */
export interface VarianceSums {
  readonly logDet: number;
  /** D' V⁻¹ D */
  readonly zero: Matrix;
  /** D' V⁻¹ V_i V⁻¹ D */
  readonly first: readonly Matrix[];
  /** D' V⁻¹ V_i V⁻¹ V_j V⁻¹ D; [i][j] with j ≤ i. */
  readonly second: readonly (readonly Matrix[])[];
  /** tr V⁻¹ V_i */
  readonly trace: readonly number[];
  /** tr V⁻¹ V_i V⁻¹ V_j */
  readonly traces: readonly (readonly number[])[];
}

/** A way the observations vary together. */
export interface VarianceStructure {
  /** Names of the parameters. */
  readonly names: readonly string[];
  /** Where to start, for a residual variance of 1. */
  readonly start: readonly number[];
  /** The sums at the parameters, or null where V is no covariance matrix there. */
  readonly sumsAt: (parameters: readonly number[]) => VarianceSums | null;
}

/** One random factor: the level of each observation. */
export interface RandomFactor {
  readonly name: string;
  readonly levels: readonly string[];
}

const add = (a: Matrix, b: Matrix, times: number): Matrix => Matrix.add(a, Matrix.mul(b, times));

/**
 * Independent random levels of one or more factors (nested or crossed) plus independent residuals: V = σ² I + Σ σ_i²
 * Z_i Z_i'. Parameters: σ² first, then σ_i². A σ_i² below 0 is allowed as long as V stays a covariance matrix
 * (observations of one level are then more unlike than others), unless `notBelowZero`. Everything is worked out in the
 * size of the number of levels, so many observations cost little.
 * @see Harville 1977, JASA 72:320, for the identities
 */
export function randomLevels(
  design: Matrix,
  factors: readonly RandomFactor[],
  notBelowZero: boolean,
): VarianceStructure {
  const n = design.rows;
  const of = factors.map(({ levels }) => {
    const names = [...new Set(levels)];
    const at = new Map(names.map((name, i) => [name, i]));
    return { count: names.length, of: levels.map((level) => at.get(level)!) };
  });
  const offset = of.map((_, i) => of.slice(0, i).reduce((sum, one) => sum + one.count, 0));
  const q = of.reduce((sum, one) => sum + one.count, 0);
  const zz = Matrix.zeros(q, q);
  const zd = Matrix.zeros(q, design.columns);
  for (let row = 0; row < n; row++) {
    const own = of.map((one, i) => offset[i]! + one.of[row]!);
    for (const a of own) {
      for (const b of own) zz.set(a, b, zz.get(a, b) + 1);
      for (let c = 0; c < design.columns; c++) zd.set(a, c, zd.get(a, c) + design.get(row, c));
    }
  }
  const dd = design.transpose().mmul(design);
  const ranges = of.map((one, i) => [offset[i]!, offset[i]! + one.count - 1] as const);

  const isCovariance = (parameters: readonly number[]): boolean => {
    const v = Matrix.zeros(n, n);
    for (let a = 0; a < n; a++) {
      for (let b = 0; b < n; b++) {
        let value = a === b ? parameters[0]! : 0;
        of.forEach((one, i) => (one.of[a] === one.of[b] ? (value += parameters[i + 1]!) : undefined));
        v.set(a, b, value);
      }
    }
    return choleskyOf(v).isPositiveDefinite();
  };

  const sumsAt = (parameters: readonly number[]): VarianceSums | null => {
    const residual = parameters[0]!;
    if (!(residual > 0)) return null;
    const ratios = of.flatMap((one, i) => Array.from({ length: one.count }, () => parameters[i + 1]! / residual));
    if (ratios.some((ratio) => ratio < 0) && (notBelowZero || !isCovariance(parameters))) return null;
    const inner = Matrix.identity(q);
    for (let a = 0; a < q; a++)
      for (let b = 0; b < q; b++) inner.set(a, b, inner.get(a, b) + ratios[a]! * zz.get(a, b));
    const lu = new LuDecomposition(inner);
    const determinant = Array.from({ length: q }, (_, i) => lu.upperTriangularMatrix.get(i, i));
    if (q > 0 && determinant.some((value) => value === 0)) return null;
    const middle = q > 0 ? lu.solve(Matrix.diag(ratios)) : Matrix.zeros(0, 0);
    const half = zz.mmul(middle);
    const zvd = add(zd, half.mmul(zd), -1).mul(1 / residual);
    const zvz = add(zz, half.mmul(zz), -1).mul(1 / residual);
    const zero = add(dd, zd.transpose().mmul(middle.mmul(zd)), -1).mul(1 / residual);
    const part = ranges.map(([from, to]) => zvd.subMatrix(from, to, 0, design.columns - 1));
    const cross = ranges.map(([from, to]) => ranges.map(([left, right]) => zvz.subMatrix(from, to, left, right)));
    const squares = (m: Matrix): number => m.to1DArray().reduce((sum, value) => sum + value * value, 0);

    // The random factors by themselves; the residual's part follows from V⁻¹ (σ² I + Σ σ_i² V_i) = I.
    const m = factors.length;
    const first = part.map((one) => one.transpose().mmul(one));
    const second = part.map((one, i) => part.map((other, j) => one.transpose().mmul(cross[i]![j]!).mmul(other)));
    const trace = cross.map((row, i) => row[i]!.trace());
    const traces = cross.map((row) => row.map(squares));
    const share = parameters.slice(1);
    const rest = (whole: Matrix, parts: readonly Matrix[]): Matrix =>
      parts.reduce((sum, one, i) => add(sum, one, -share[i]!), whole).mul(1 / residual);
    const restNumber = (whole: number, parts: readonly number[]): number =>
      parts.reduce((sum, one, i) => sum - share[i]! * one, whole) / residual;
    const firstRest = rest(zero.clone(), first);
    const mixed = first.map((one, j) =>
      rest(
        one.clone(),
        second.map((row) => row[j]!),
      ),
    );
    const secondRest = rest(firstRest.clone(), mixed);
    const traceRest = restNumber(n, trace);
    const tracesMixed = trace.map((one, j) =>
      restNumber(
        one,
        traces.map((row) => row[j]!),
      ),
    );
    return {
      logDet: n * Math.log(residual) + determinant.reduce((sum, value) => sum + Math.log(Math.abs(value)), 0),
      zero,
      first: [firstRest, ...first],
      second: [[secondRest], ...Array.from({ length: m }, (_, i) => [mixed[i]!, ...second[i]!.slice(0, i + 1)])],
      trace: [traceRest, ...trace],
      traces: [
        [restNumber(traceRest, tracesMixed)],
        ...Array.from({ length: m }, (_, i) => [tracesMixed[i]!, ...traces[i]!.slice(0, i + 1)]),
      ],
    };
  };
  const start = [1 / (1 + factors.length), ...factors.map(() => 1 / (1 + factors.length))];
  return { names: ['residual', ...factors.map((one) => one.name)], start, sumsAt };
}

/**
 * Variance that levels of a fixed factor are given, in the unit of the starting residual: so large that it never
 * decides.
 */
export const GIVEN_VARIANCE = 4;

/**
 * The same as `randomLevels`, within the levels of a factor that is fixed in the model and gets a variance of
 * GIVEN_VARIANCE. Likelihood, and estimates within its levels, are the same for any such variance, for V + X C X'
 * differs from V by what the fixed part takes away; with it, variances may fall below 0 as far as the comparisons
 * within allow, and no less.
 */
export function randomLevelsWithin(
  design: Matrix,
  factors: readonly RandomFactor[],
  fixed: RandomFactor,
): VarianceStructure {
  const all = randomLevels(design, [...factors, fixed], false);
  const known = <T>(list: readonly T[]): T[] => list.slice(0, -1);
  const sumsAt = (parameters: readonly number[]): VarianceSums | null => {
    const sums = all.sumsAt([...parameters, GIVEN_VARIANCE]);
    return (
      sums && {
        ...sums,
        first: known(sums.first),
        second: known(sums.second),
        trace: known(sums.trace),
        traces: known(sums.traces),
      }
    );
  };
  return { names: known(all.names), start: known(all.start), sumsAt };
}

/** How the errors of one plot hang together over days. */
export type OverDays = 'compound symmetry' | 'autoregressive';

/**
 * Repeated measures: observations of one subject are correlated, those of different subjects are not. Compound
 * symmetry: V = σ_e² I + σ_s² J (parameters σ_e², σ_s²; σ_s² below 0 allowed). Autoregressive of order 1 in continuous
 * time: V = σ² ρ^|days apart| (parameters σ², ρ; 0 < ρ < 1), the usual AR(1) for equal steps.
 * @see Jones & Boadi-Boateng 1991, Biometrics 47:161
 */
export function repeatedDays(
  design: Matrix,
  subject: readonly string[],
  day: readonly number[],
  structure: OverDays,
): VarianceStructure {
  const subjects = [...new Set(subject)].map((one) => subject.flatMap((other, row) => (other === one ? [row] : [])));
  const patterns = new Map<string, { days: number[]; designs: Matrix[] }>();
  for (const rows of subjects) {
    const days = rows.map((row) => day[row]!);
    const key = days.join();
    const own = design.selection(
      rows,
      Array.from({ length: design.columns }, (_, c) => c),
    );
    const known = patterns.get(key);
    if (known) known.designs.push(own);
    else patterns.set(key, { days, designs: [own] });
  }
  const matricesAt = (
    days: readonly number[],
    [a, b]: readonly number[],
  ): { v: Matrix; derivatives: [Matrix, Matrix] } => {
    const m = days.length;
    const fill = (value: (apart: number, same: boolean) => number): Matrix => {
      const matrix = Matrix.zeros(m, m);
      for (let i = 0; i < m; i++)
        for (let j = 0; j < m; j++) matrix.set(i, j, value(Math.abs(days[i]! - days[j]!), i === j));
      return matrix;
    };
    if (structure === 'compound symmetry') {
      return { v: fill((_, same) => (same ? a! : 0) + b!), derivatives: [Matrix.identity(m), Matrix.ones(m, m)] };
    }
    return {
      v: fill((apart) => a! * b! ** apart),
      derivatives: [fill((apart) => b! ** apart), fill((apart, same) => (same ? 0 : a! * apart * b! ** (apart - 1)))],
    };
  };
  const sumsAt = (parameters: readonly number[]): VarianceSums | null => {
    if (!(parameters[0]! > 0) || (structure === 'autoregressive' && !(parameters[1]! > 0 && parameters[1]! < 1)))
      return null;
    const c = design.columns;
    let logDet = 0;
    const zero = Matrix.zeros(c, c);
    const first = [Matrix.zeros(c, c), Matrix.zeros(c, c)];
    const second = [[Matrix.zeros(c, c)], [Matrix.zeros(c, c), Matrix.zeros(c, c)]];
    const trace = [0, 0];
    const traces = [[0], [0, 0]];
    for (const { days, designs } of patterns.values()) {
      const { v, derivatives } = matricesAt(days, parameters);
      const cholesky = choleskyOf(v);
      if (!cholesky.isPositiveDefinite()) return null;
      const inverse = cholesky.solve(Matrix.identity(days.length));
      for (let i = 0; i < days.length; i++)
        logDet += 2 * designs.length * Math.log(cholesky.lowerTriangularMatrix.get(i, i));
      const by = derivatives.map((derivative) => inverse.mmul(derivative));
      const firstInner = by.map((one) => one.mmul(inverse));
      for (let i = 0; i < 2; i++) {
        trace[i] = trace[i]! + designs.length * by[i]!.trace();
        for (let j = 0; j <= i; j++) {
          const both = by[i]!.mmul(by[j]!);
          traces[i]![j] = traces[i]![j]! + designs.length * both.trace();
          const inner = both.mmul(inverse);
          for (const own of designs) second[i]![j]!.add(own.transpose().mmul(inner).mmul(own));
        }
      }
      for (const own of designs) {
        const turned = own.transpose();
        zero.add(turned.mmul(inverse).mmul(own));
        firstInner.forEach((inner, i) => first[i]!.add(turned.mmul(inner).mmul(own)));
      }
    }
    return { logDet, zero, first, second, trace, traces };
  };
  return structure === 'compound symmetry'
    ? { names: ['residual', 'subject'], start: [0.5, 0.5], sumsAt }
    : { names: ['variance', 'correlation of one day to the next'], start: [1, 0.5], sumsAt };
}
