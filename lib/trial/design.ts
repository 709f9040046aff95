import { expectWhole } from '@/lib/expect';

/**
 * How a trial is laid out. completely-randomised: every plot drawn by lot from the whole ground; paired-strips: two
 * treatments side by side, repeated in pairs; randomised-blocks: every treatment once in every block;
 * incomplete-blocks: blocks too small for all treatments; latin-square: every treatment once in every row and column;
 * split-plot: one factor on main plots, another on subplots within them; strip-plot: one factor on strips along,
 * another on strips across them, in every block.
 */
export const LAYOUTS = [
  'randomised-blocks',
  'paired-strips',
  'completely-randomised',
  'incomplete-blocks',
  'latin-square',
  'split-plot',
  'strip-plot',
] as const;
export type Layout = (typeof LAYOUTS)[number];

/** Layouts with a second factor. */
export function hasTwoFactors(layout: Layout): boolean {
  return layout === 'split-plot' || layout === 'strip-plot';
}

/** The plan before chance: treatments by id, the check among them (null when there is none). */
export interface TrialDesign {
  readonly layout: Layout;
  readonly treatments: readonly string[];
  /** The second factor; split and strip plots only. */
  readonly subTreatments?: readonly string[];
  readonly check: string | null;
  /** Blocks, pairs or replicates; for a Latin square this is the number of treatments. */
  readonly blocks: number;
  /** Plots in a block; incomplete blocks only. */
  readonly blockSize?: number;
}

/** Treatments in a block, or plots of a treatment where there are no blocks. */
function sizeOfBlock(design: TrialDesign): number {
  return design.layout === 'incomplete-blocks' ? (design.blockSize ?? 0) : design.treatments.length;
}

/** Everything wrong with a design, one sentence each; empty when it can be laid out. */
export function designProblems(design: TrialDesign): string[] {
  const { layout, treatments, subTreatments = [], check, blocks } = design;
  const problems: string[] = [];
  if (new Set(treatments).size !== treatments.length) problems.push('treatments: expected each once, got one twice');
  if (check !== null && !treatments.includes(check) && !subTreatments.includes(check))
    problems.push(`check: expected one of the treatments, got '${check}'`);
  if (treatments.length < 2 || treatments.length > 20)
    problems.push(`treatments: expected 2 to 20, got ${treatments.length}`);
  if (!Number.isInteger(blocks) || blocks < 1 || blocks > 50)
    problems.push(`Replicates: expected a whole number from 1 to 50, got ${blocks}`);
  if (layout === 'paired-strips' && treatments.length !== 2)
    problems.push(`paired strips: expected 2 treatments, got ${treatments.length}`);
  if (layout === 'latin-square' && blocks !== treatments.length)
    problems.push(`Latin square: expected as many rows as treatments (${treatments.length}), got ${blocks}`);
  if (layout === 'latin-square' && treatments.length > 10)
    problems.push(`Latin square: expected at most 10 treatments, got ${treatments.length}`);
  if (hasTwoFactors(layout)) {
    const name = layout === 'split-plot' ? 'split plot' : 'strip plot';
    if (subTreatments.length < 2 || subTreatments.length > 20)
      problems.push(`${name}: expected 2 to 20 treatments of the second factor, got ${subTreatments.length}`);
    if (new Set(subTreatments).size !== subTreatments.length)
      problems.push('treatments of the second factor: expected each once, got one twice');
  } else if (subTreatments.length > 0) problems.push('a second factor belongs to a split plot or a strip plot only');
  if (layout === 'incomplete-blocks') {
    const { blockSize = 0 } = design;
    if (!Number.isInteger(blockSize) || blockSize < 2 || blockSize >= treatments.length)
      problems.push(
        `incomplete blocks: expected blocks of 2 to ${treatments.length - 1} plots, fewer than the ${treatments.length} treatments, got ${blockSize}`,
      );
    else if (blocks * blockSize < 2 * treatments.length)
      problems.push(
        `incomplete blocks: expected each treatment on 2 plots at least (${2 * treatments.length} plots), got ${blocks * blockSize}`,
      );
    else if (blocks * (blockSize - 1) < treatments.length)
      problems.push(
        `incomplete blocks: expected more blocks: ${blocks} of ${blockSize} plots leave nothing to judge the scatter by`,
      );
  }
  return problems;
}

/** Number of plots of a design. */
export function plotCount(design: TrialDesign): number {
  expectWhole('blocks', design.blocks, 1, 50);
  return design.blocks * sizeOfBlock(design) * (hasTwoFactors(design.layout) ? (design.subTreatments?.length ?? 0) : 1);
}

/**
 * Error degrees of freedom of the complete design (for a split plot of the subplot error, for a strip plot of the
 * crossings').
 * @see Gomez & Gomez 1984, chapters 2 and 3; incomplete blocks within blocks: Cochran & Cox 1957, chapter 9
 */
export function errorDf(design: TrialDesign): number {
  const k = design.treatments.length;
  const b = design.blocks;
  const s = design.subTreatments?.length ?? 1;
  if (design.layout === 'completely-randomised') return k * (b - 1);
  if (design.layout === 'incomplete-blocks') return b * sizeOfBlock(design) - b - k + 1;
  if (design.layout === 'latin-square') return (k - 1) * (k - 2);
  if (design.layout === 'split-plot') return k * (b - 1) * (s - 1);
  if (design.layout === 'strip-plot') return (k - 1) * (b - 1) * (s - 1);
  return (k - 1) * (b - 1);
}

/** What to know of a design before it is laid out, in plain sentences. */
export function designRemarks(design: TrialDesign): string[] {
  const remarks: string[] = [];
  if (design.blocks === 1 && design.layout !== 'latin-square')
    remarks.push(
      'One strip a treatment: the photos can tell how these strips differ, not whether the treatment would do it again elsewhere.',
    );
  else if (errorDf(design) < 6) {
    remarks.push(
      `Only ${errorDf(design)} degrees of freedom for the error: only large differences will show. More blocks help most.`,
    );
  }
  if (design.check === null)
    remarks.push('No unsprayed check: a change of season or light cannot be told from an effect.');
  return remarks;
}
