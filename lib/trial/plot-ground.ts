/** What two plots of a lawn share on the ground: what went onto one went onto the other there. */

export type GroundPoint = readonly [xM: number, yM: number];

/** Where a plot lies, as far as somebody said. */
export interface PlotGround {
  readonly id: string;
  readonly areaM2: number;
  readonly polygonM: readonly GroundPoint[] | null;
  /**
   * `plan`: the polygon lies on the lawn's plan, measured from its left stake; `inside`: within the plot
   * `insidePlotId`; `apart`: it shares ground with no other, but for plots said to lie inside it; null: nobody said.
   */
  readonly groundPlace: 'plan' | 'inside' | 'apart' | null;
  readonly insidePlotId: string | null;
  /** The trial that laid it out, whose plots lie side by side; null when none did. */
  readonly trialId: string | null;
}

/** Share of the first plot's ground that the second covers, 0..1; null when the record can't tell. */
export type SharedGround = number | null;

/** Below this share of the smaller plot two plots only touch: a stake is a hand's breadth off. */
const TOUCH_SHARE = 0.005;

const cross = (o: GroundPoint, a: GroundPoint, b: GroundPoint) =>
  (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);

function signedAreaM2(polygon: readonly GroundPoint[]): number {
  let twice = 0;
  polygon.forEach(([x, y], at) => {
    const [nextX, nextY] = polygon[(at + 1) % polygon.length]!;
    twice += x * nextY - nextX * y;
  });
  return twice / 2;
}

/**
 * Area of a simple polygon, m2, whichever way it runs.
 * Exported for shapes whose area is known.
 */
export function polygonAreaM2(polygon: readonly GroundPoint[]): number {
  return Math.abs(signedAreaM2(polygon));
}

function isConvex(polygon: readonly GroundPoint[]): boolean {
  const turns = polygon.map((point, at) =>
    cross(point, polygon[(at + 1) % polygon.length]!, polygon[(at + 2) % polygon.length]!),
  );
  return turns.every((turn) => turn >= -1e-9) || turns.every((turn) => turn <= 1e-9);
}

/** Where the line through `a` and `b` cuts the side from `from` to `to`. */
function cut(from: GroundPoint, to: GroundPoint, a: GroundPoint, b: GroundPoint): GroundPoint {
  const [before, after] = [cross(a, b, from), cross(a, b, to)];
  const share = before / (before - after);
  return [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
}

/**
 * Area that two simple polygons share, m2; null when neither is convex. The convex one clips the other side by side.
 * @see Sutherland & Hodgman 1974, Commun ACM 17:32-42
 */
export function sharedAreaM2(first: readonly GroundPoint[], second: readonly GroundPoint[]): number | null {
  if (first.length < 3 || second.length < 3) return null;
  const clipper = isConvex(second) ? second : isConvex(first) ? first : null;
  if (clipper === null) return null;
  const inward = signedAreaM2(clipper) >= 0 ? clipper : [...clipper].reverse();
  let left: readonly GroundPoint[] = clipper === second ? first : second;
  inward.forEach((a, at) => {
    const b = inward[(at + 1) % inward.length]!;
    const kept: GroundPoint[] = [];
    left.forEach((point, place) => {
      const before = left[(place + left.length - 1) % left.length]!;
      const [isIn, wasIn] = [cross(a, b, point) >= 0, cross(a, b, before) >= 0];
      if (isIn !== wasIn) kept.push(cut(before, point, a, b));
      if (isIn) kept.push(point);
    });
    left = kept;
  });
  return left.length < 3 ? 0 : polygonAreaM2(left);
}

type Lawn = ReadonlyMap<string, PlotGround>;

/** The plot and all it lies inside of, the innermost first; a ring of plots inside each other is cut. */
function around(plot: PlotGround, lawn: Lawn): PlotGround[] {
  const chain = [plot];
  for (let at = plot; at.groundPlace === 'inside' && at.insidePlotId !== null;) {
    const next = lawn.get(at.insidePlotId);
    if (!next || chain.includes(next)) break;
    chain.push(next);
    at = next;
  }
  return chain;
}

/** The frame a plot's polygon is measured in, or null when it shows only the plot's shape. */
function frameOf(plot: PlotGround): string | null {
  if (plot.polygonM === null) return null;
  if (plot.groundPlace === 'plan') return 'plan';
  return plot.trialId === null ? null : `trial ${plot.trialId}`;
}

/** Two plots neither of which is said to lie inside the other. */
function besideEachOther(a: PlotGround, b: PlotGround): SharedGround {
  const frame = frameOf(a);
  if (frame !== null && frame === frameOf(b) && a.polygonM && b.polygonM) {
    const shared = sharedAreaM2(a.polygonM, b.polygonM);
    if (shared === null) return null;
    const [ofA, ofB] = [polygonAreaM2(a.polygonM), polygonAreaM2(b.polygonM)];
    return shared < TOUCH_SHARE * Math.min(ofA, ofB) ? 0 : Math.min(1, shared / ofA);
  }
  return a.groundPlace === 'apart' || b.groundPlace === 'apart' ? 0 : null;
}

/**
 * Share of plot `a` that plot `b` covers, from what is known of all plots of the lawn.
 * Exported for two shapes whose common ground is known.
 */
export function sharedGround(a: PlotGround, b: PlotGround, lawn: Lawn): SharedGround {
  if (a.id === b.id) return 1;
  const [aroundA, aroundB] = [around(a, lawn), around(b, lawn)];
  if (aroundA.includes(b)) return 1;
  if (aroundB.includes(a)) return a.areaM2 > 0 ? Math.min(1, b.areaM2 / a.areaM2) : 1;
  const direct = besideEachOther(a, b);
  if (direct !== null) return direct;
  // What holds them may lie apart, and then so do they.
  for (const outerA of aroundA) {
    for (const outerB of aroundB) {
      if (
        outerA !== outerB &&
        !aroundA.includes(outerB) &&
        !aroundB.includes(outerA) &&
        besideEachOther(outerA, outerB) === 0
      )
        return 0;
    }
  }
  return null;
}

/** The plots whose ground a set of plots touches, themselves included, and those of which nobody knows. */
export function groundReached(
  plotIds: readonly string[],
  plots: readonly PlotGround[],
): { readonly known: readonly string[]; readonly unknown: readonly string[] } {
  const lawn: Lawn = new Map(plots.map((plot) => [plot.id, plot]));
  const covered = plotIds.flatMap((id) => lawn.get(id) ?? []);
  const known = [...plotIds];
  const unknown: string[] = [];
  for (const plot of plots) {
    if (plotIds.includes(plot.id)) continue;
    const shares = covered.map((one) => sharedGround(plot, one, lawn));
    if (shares.some((share) => share !== null && share > 0)) known.push(plot.id);
    else if (shares.includes(null)) unknown.push(plot.id);
  }
  return { known, unknown };
}

/** Pairs of plots among those given that share ground, with the share of the smaller one. */
export function overlapsAmong(
  plotIds: readonly string[],
  plots: readonly PlotGround[],
): readonly { readonly first: string; readonly second: string; readonly sharedM2: number }[] {
  const lawn: Lawn = new Map(plots.map((plot) => [plot.id, plot]));
  const chosen = plotIds.flatMap((id) => lawn.get(id) ?? []).sort((a, b) => b.areaM2 - a.areaM2);
  return chosen.flatMap((large, at) =>
    chosen.slice(at + 1).flatMap((small) => {
      const share = sharedGround(small, large, lawn);
      return share !== null && share > 0 ? [{ first: small.id, second: large.id, sharedM2: share * small.areaM2 }] : [];
    }),
  );
}
