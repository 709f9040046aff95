import type { Layout } from '@/lib/trial/design';

/** Designs as pages name them. */
export const DESIGN_WORDS: Readonly<Record<Layout, string>> = {
  'completely-randomised': 'completely randomised',
  'incomplete-blocks': 'incomplete blocks',
  'strip-plot': 'strip plot',
  'paired-strips': 'paired strips',
  'randomised-blocks': 'randomised blocks',
  'latin-square': 'Latin square',
  'split-plot': 'split plot',
};
