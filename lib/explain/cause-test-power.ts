/**
 * How often (0 to 1) the exact test of presence finds a factor, when marks show on `withShare` of the plots as sprayed
 * and on `withoutShare` of those with the cause taken away: over every outcome of the pairs that lie within blocks.
 * Exported for the simulation of trials, which holds it to the share of runs that find a cause.
 */
export function presencePower(pairs: number, withShare: number, withoutShare: number, alpha = 0.05): number {
  const onlyWith = withShare * (1 - withoutShare);
  const onlyWithout = withoutShare * (1 - withShare);
  const neither = 1 - onlyWith - onlyWithout;
  const logFactorial = Array.from({ length: pairs + 1 }, () => 0);
  for (let i = 2; i <= pairs; i++) logFactorial[i] = logFactorial[i - 1]! + Math.log(i);
  const log = (share: number, count: number): number => (count === 0 ? 0 : count * Math.log(share));
  let power = 0;
  for (let a = 0; a <= pairs; a++) {
    for (let b = 0; a + b <= pairs; b++) {
      const share = Math.exp(
        logFactorial[pairs]! -
          logFactorial[a]! -
          logFactorial[b]! -
          logFactorial[pairs - a - b]! +
          log(onlyWith, a) +
          log(onlyWithout, b) +
          log(neither, pairs - a - b),
      );
      if (!(share > 1e-12)) continue;
      // Two-sided exact test of a against b (the sign test within pairs).
      let tail = 0;
      for (let i = 0; i <= a + b; i++) {
        if (Math.abs(2 * i - a - b) >= Math.abs(a - b))
          tail += Math.exp(logFactorial[a + b]! - logFactorial[i]! - logFactorial[a + b - i]! - (a + b) * Math.LN2);
      }
      if (tail < alpha + 1e-12 && a + b > 0) power += share;
    }
  }
  return power;
}

/**
 * Shares that are planned for: as sprayed it mostly comes back, with the cause taken away it mostly does not. Our own
 * choice, no source.
 */
export const PLANNED_SHARES = { with: 0.85, without: 0.1 } as const;

/**
 * Pairs within blocks by which a factor is told: one a block for each combination of the others; a half fraction has
 * none, and counts blocks.
 */
function pairsPerBlock(factors: number, fraction: 'full' | 'half'): number {
  return fraction === 'half' && factors === 3 ? 2 : 2 ** (factors - 1);
}

/** The fewest blocks (2 to 12) whose exact test of presence finds a factor 8 times in 10, and what they reach. */
export function causeBlocks(
  factors: number,
  fraction: 'full' | 'half',
): { readonly blocks: number; readonly power: number }[] {
  return Array.from({ length: 7 }, (_, i) => i + 2).map((blocks) => ({
    blocks,
    power: presencePower(blocks * pairsPerBlock(factors, fraction), PLANNED_SHARES.with, PLANNED_SHARES.without),
  }));
}
