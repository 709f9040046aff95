import { latinRankTest, rankTest, type RankTest } from '@/lib/stats/rank-tests';
import type { Layout } from '@/lib/trial/design';
import { listed, pWord, shown } from '@/lib/trial/wording';

interface Ranked {
  readonly plot: string;
  readonly block: string;
  readonly column?: string | null;
  readonly treatment: string;
  readonly response: number;
}

/** The rank test of a layout, or in words why there is none; and what did not count in it. */
export type ByRanks =
  | { readonly ok: true; readonly test: RankTest; readonly notes: readonly string[] }
  | { readonly ok: false; readonly reason: string };

/** Treatments compared by ranks as the layout was drawn: within blocks, over all plots, or by rows and columns. */
export function byRanks(usable: readonly Ranked[], layout: Layout): ByRanks {
  const treatments = [...new Set(usable.map((one) => one.treatment))];
  if (layout === 'split-plot' || layout === 'strip-plot')
    return {
      ok: false,
      reason: 'A layout of two factors with two sizes of plot has no rank test here: read its table.',
    };
  if (layout === 'latin-square') {
    const rows = [...new Set(usable.map((one) => one.block))];
    const columns = [...new Set(usable.map((one) => one.column ?? ''))];
    const at = (row: string, column: string) =>
      usable.filter((one) => one.block === row && (one.column ?? '') === column);
    const n = treatments.length;
    const isSquare =
      usable.length === n * n &&
      rows.length === n &&
      columns.length === n &&
      rows.every((row) => columns.every((column) => at(row, column).length === 1)) &&
      [rows, columns].every((lines, way) =>
        lines.every(
          (line) =>
            new Set(
              usable.filter((one) => (way === 0 ? one.block : (one.column ?? '')) === line).map((one) => one.treatment),
            ).size === n,
        ),
      );
    if (!isSquare)
      return { ok: false, reason: 'A Latin square with plots missing has no rank test here: read its table.' };
    const cell = (row: string, column: string) => at(row, column)[0]!;
    const test = latinRankTest(
      rows.map((row) => columns.map((column) => treatments.indexOf(cell(row, column).treatment))),
      rows.map((row) => columns.map((column) => cell(row, column).response)),
    );
    return test
      ? { ok: true, test, notes: [] }
      : { ok: false, reason: 'All plots were rated the same: there is nothing to rank.' };
  }
  const blocks = layout === 'completely-randomised' ? ['all'] : [...new Set(usable.map((one) => one.block))];
  const groups = blocks.map((block) =>
    usable.filter((one) => layout === 'completely-randomised' || one.block === block),
  );
  const test = rankTest(
    groups.map((group) => group.map((one) => ({ treatment: treatments.indexOf(one.treatment), value: one.response }))),
    treatments.length,
  );
  if (test === null)
    return { ok: false, reason: 'In no block were two treatments rated differently: there is nothing to rank.' };
  const notes: string[] = [];
  const lone = blocks.filter((_, b) => new Set(groups[b]!.map((one) => one.treatment)).size < 2);
  if (lone.length > 0)
    notes.push(
      `By ranks ${lone.length === 1 ? 'block' : 'blocks'} ${listed(lone)} ${lone.length === 1 ? 'does' : 'do'} not count: fewer than two treatments are left there.`,
    );
  if (layout !== 'incomplete-blocks' && layout !== 'completely-randomised') {
    const gaps = blocks.flatMap((block, b) =>
      treatments.filter((t) => !groups[b]!.some((one) => one.treatment === t)).map((t) => `${t} in block ${block}`),
    );
    if (gaps.length > 0)
      notes.push(
        `Missing for the ranks: ${gaps.join(', ')}; each block is ranked by the plots it has (Skillings and Mack).`,
      );
    const twice = blocks.flatMap((block, b) =>
      treatments
        .filter((t) => groups[b]!.filter((one) => one.treatment === t).length > 1)
        .map((t) => `${t} in block ${block}`),
    );
    if (twice.length > 0) notes.push(`Laid twice and ranked as two plots: ${twice.join(', ')}.`);
  }
  return { ok: true, test, notes };
}

/** The test in a sentence, with what it could have shown at best. */
export function rankSentence(test: RankTest, alpha: number): string {
  const verdict = test.p < alpha ? 'the treatments differ' : 'no difference is shown';
  const how =
    test.method === 'every order'
      ? 'exact: every order that the draw could have laid'
      : `${test.draws!.toLocaleString('en-US')} orders drawn`;
  const atBest =
    test.smallestP !== null && test.smallestP >= alpha
      ? ` With so few plots no outcome at all could have shown one: the smallest possible p is ${test.smallestP.toPrecision(2)}.`
      : '';
  return `By ranks, which is the safer reading for ratings: ${verdict} (${test.name}, ${shown(test.statistic)}, ${pWord(test.p)}, ${how}).${atBest}`;
}
