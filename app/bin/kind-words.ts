import type { BinKind } from '@/lib/diary/bin';

export const binKindWords: Record<BinKind, string> = {
  spray: 'Spray',
  photo: 'Photo',
  product: 'Product',
  trial: 'Trial',
  plot: 'Plot',
  event: 'Entry',
};
