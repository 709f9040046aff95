'use client';
import type { Layout } from '@/lib/trial/design';
import type { TreatmentStart } from './treatment-rows';

// prettier-ignore
export const DESIGNS: readonly { value: Layout; label: string; about: string }[] = [
  { value: 'randomised-blocks', label: 'Randomised blocks', about: 'Every treatment once in each block, in an order drawn by lot. The one to take when in doubt.' },
  { value: 'paired-strips', label: 'Paired strips', about: 'Two treatments side by side, repeated in pairs.' },
  { value: 'completely-randomised', label: 'Completely randomised', about: 'Every strip drawn by lot from the whole ground, without blocks: only for ground that is alike all over.' },
  { value: 'incomplete-blocks', label: 'Incomplete blocks', about: 'Blocks with room for some of the treatments only, chosen so that any two meet about as often as others: for many treatments on patchy ground.' },
  { value: 'latin-square', label: 'Latin square', about: 'As many rows as treatments; each treatment once in every row and column. For ground that changes in two directions.' },
  { value: 'split-plot', label: 'Split plot', about: 'One factor on main plots, a second within them: what is hard to change goes on the main plots.' },
  { value: 'strip-plot', label: 'Strip plot', about: 'One factor on strips along the block, the second on strips across it, where both are hard to change, such as two passes of machines.' },
];

export interface DesignerState {
  design: Layout;
  blocks: string;
  blockSize: string;
  seed: string;
  swath: string;
  passes: string;
  stripLength: string;
  buffer: string;
  alley: string;
  oneRow: boolean;
  scatter: string;
  treatments: TreatmentStart[];
}

/** Where an unfinished design is kept over a reload. */
export const TRIAL_DRAFT = 'draft:trial-design';

export const never = () => () => {};

export const numberOf = (text: string): number => (text.trim() === '' ? Number.NaN : Number(text.replace(',', '.')));
