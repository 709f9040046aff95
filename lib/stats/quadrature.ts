import jStat from 'jstat';

/** A rule for an integral: the sum of weight × f(node). */
export interface QuadratureRule {
  readonly nodes: Float64Array;
  readonly weights: Float64Array;
}

/** Gauss-Legendre rule with `n` points on [-1, 1], by Newton's method on the Legendre polynomial. */
function gaussLegendre(n: number): QuadratureRule {
  const nodes = new Float64Array(n);
  const weights = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (n + 0.5));
    let slope = 1;
    for (let step = 0; step < 100; step++) {
      let previous = 1;
      let current = x;
      for (let k = 2; k <= n; k++)
        [previous, current] = [current, ((2 * k - 1) * x * current - (k - 1) * previous) / k];
      slope = (n * (x * current - previous)) / (x * x - 1);
      const change = current / slope;
      x -= change;
      if (Math.abs(change) < 1e-15) break;
    }
    nodes[i] = -x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}

const PANEL = gaussLegendre(16);

/** The same rule laid over `panels` equal pieces of [low, high]. */
export function panelRule(low: number, high: number, panels: number): QuadratureRule {
  const n = PANEL.nodes.length;
  const nodes = new Float64Array(n * panels);
  const weights = new Float64Array(n * panels);
  const half = (high - low) / panels / 2;
  for (let p = 0; p < panels; p++) {
    const centre = low + half * (2 * p + 1);
    for (let i = 0; i < n; i++) {
      nodes[p * n + i] = centre + half * PANEL.nodes[i]!;
      weights[p * n + i] = half * PANEL.weights[i]!;
    }
  }
  return { nodes, weights };
}

/**
 * The rule that averages over s = √(χ²_df / df), the ratio of an estimated to the true standard deviation, for s up to
 * `reach`: weights hold the density, so they add up to the probability of s ≤ reach.
 * For df below about 1 the density has a spike at 0 that this rule blurs.
 */
export function scaleRule(df: number, panels: number, reach = Infinity): QuadratureRule {
  const spread = 1 / Math.sqrt(2 * df);
  const low = Math.max(0, 1 - 9 * spread);
  const high = Math.min(reach, 1 + 9 * spread + 4 / df);
  if (high <= low) return { nodes: new Float64Array(0), weights: new Float64Array(0) };
  const rule = panelRule(low, high, panels);
  const logConstant = Math.LN2 + (df / 2) * Math.log(df / 2) - jStat.gammaln(df / 2);
  const weights = rule.weights.map((weight, i) => {
    const s = rule.nodes[i]!;
    return weight * Math.exp(logConstant + (df - 1) * Math.log(s) - (df * s * s) / 2);
  });
  return { nodes: rule.nodes, weights };
}

/**
 * Average of f(s) over s = √(χ²_df / df), where f is (as good as) 0 for s above `reach`; with df = Infinity, f(1).
 */
export function integrateOverScale(df: number, f: (scale: number) => number, reach = Infinity): number {
  if (df === Infinity) return f(1);
  const rule = scaleRule(df, df < 4 ? 10 : 5, reach);
  let sum = 0;
  for (let i = 0; i < rule.nodes.length; i++) {
    const weight = rule.weights[i]!;
    if (weight > 1e-14) sum += weight * f(rule.nodes[i]!);
  }
  return sum;
}

/** The root of an increasing f between low and high (Illinois false position, then bisection as the safety net). */
export function rootOfIncreasing(f: (x: number) => number, low: number, high: number, tolerance: number): number {
  let a = low;
  let b = high;
  let fa = f(a);
  let fb = f(b);
  while (fb < 0) {
    a = b;
    fa = fb;
    b = 2 * b + 1;
    fb = f(b);
    if (b > 1e9) throw new RangeError(`rootOfIncreasing: expected a root below 1e9, got none (f is ${fb} there)`);
  }
  if (fa > 0) return a;
  let side = 0;
  for (let step = 0; step < 200 && b - a > tolerance * Math.max(1, Math.abs(b)); step++) {
    let x = step % 5 === 4 ? (a + b) / 2 : (a * fb - b * fa) / (fb - fa);
    if (!(x > a && x < b)) x = (a + b) / 2;
    const fx = f(x);
    if (fx === 0) return x;
    if (fx < 0) {
      a = x;
      fa = fx;
      if (side === -1) fb /= 2;
      side = -1;
    } else {
      b = x;
      fb = fx;
      if (side === 1) fa /= 2;
      side = 1;
    }
  }
  return (a + b) / 2;
}
