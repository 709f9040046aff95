import { standardErrorOfDifference, type MeansTable } from '@/lib/stats/compare-means';
import type { AnovaTable } from '@/lib/stats/anova';
import { tQuantile } from '@/lib/stats/student-t';

/** How precise a trial was. Where differences are not all known alike, smallest and largest. */
export interface Precision {
  /**
   * Error standard deviation as a share of the mean (%); null where the mean is a difference, of which a share says
   * nothing.
   */
  readonly cvPercent: number | null;
  /** Standard error of a difference. */
  readonly sed: readonly [number, number];
  /** Least significant difference of one pair at 5%, not allowing for several. */
  readonly lsd: readonly [number, number];
  /**
   * Error variance without the blocks over that with them, allowing for degrees of freedom; above 1 the blocks paid.
   */
  readonly blocking: readonly { readonly by: string; readonly efficiency: number }[];
}

/**
 * Relative efficiency of blocks (or of a Latin square's rows or columns) against having had none.
 * @see Gomez & Gomez 1984, 2.2.4 and 2.3.3, with Fisher's correction for degrees of freedom below 20
 */
function blockingEfficiency({
  groups,
  groupMs,
  plotsInGroup,
  errorMs,
  errorDf,
}: {
  groups: number;
  groupMs: number;
  plotsInGroup: number;
  errorMs: number;
  errorDf: number;
}): number {
  const plots = groups * plotsInGroup;
  const without = ((groups - 1) * groupMs + (plots - groups) * errorMs) / (plots - 1);
  const dfWithout = errorDf + groups - 1;
  const correction = ((errorDf + 1) * (dfWithout + 3)) / ((errorDf + 3) * (dfWithout + 1));
  return (without / errorMs) * (errorDf < 20 ? correction : 1);
}

/** Precision of the comparisons of one table of means. */
export function precisionOf(
  means: MeansTable,
  { plotSd, grandMean, isDifference }: { plotSd: number; grandMean: number; isDifference: boolean },
  blocking: Precision['blocking'] = [],
): Precision {
  const pairs = means.means.flatMap((_, i) =>
    means.means.slice(i + 1).map((__, at) => ({
      sed: standardErrorOfDifference(means, i, i + 1 + at),
      df: means.pairDf?.[i]![i + 1 + at] ?? means.df,
    })),
  );
  const range = (values: readonly number[]): [number, number] => [Math.min(...values), Math.max(...values)];
  return {
    cvPercent: isDifference || grandMean === 0 ? null : (100 * plotSd) / Math.abs(grandMean),
    sed: range(pairs.map(({ sed }) => sed)),
    lsd: range(pairs.map(({ sed, df }) => tQuantile(0.975, df) * sed)),
    blocking,
  };
}

/**
 * Efficiency of the blocks of a complete table of block and treatment, of rows and columns in a Latin square; [] with
 * plots missing.
 */
export function blockingOf(
  table: AnovaTable,
  levels: Readonly<Record<string, readonly string[]>>,
  plots: number,
): Precision['blocking'] {
  const error = table.rows.at(-1)!;
  if (error.ms === null || !(error.ms > 0)) return [];
  return (['block', 'column'] as const).flatMap((by) => {
    const row = table.rows.find((one) => one.source === by);
    const groups = levels[by]?.length ?? 0;
    if (!row || row.ms === null || groups < 2 || plots % groups !== 0) return [];
    const name = by === 'column' ? 'columns' : 'column' in levels ? 'rows' : 'blocks';
    return [
      {
        by: name,
        efficiency: blockingEfficiency({
          groups,
          groupMs: row.ms,
          plotsInGroup: plots / groups,
          errorMs: error.ms!,
          errorDf: error.df,
        }),
      },
    ];
  });
}
