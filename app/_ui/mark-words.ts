import type { MarkState } from '@/lib/diary/marks';
import type { MarkKind } from '@/lib/photo/marks/kind';

/** How marks are called on the pages. */
export const markKindWords: Record<MarkKind, string> = {
  silver: 'Silvery haze',
  blackening: 'Blackening',
  burn: 'Scorch',
  chlorosis: 'Yellowing',
  other: 'Something else (leaf, scuff, soil?)',
};

export const markStateWords: Record<MarkState, string> = {
  open: 'not looked at yet',
  confirmed: 'confirmed',
  dismissed: 'dismissed',
};
