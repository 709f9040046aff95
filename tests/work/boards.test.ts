import { describe, expect, test } from 'vitest';
import { applyHomography, homographyFrom4, IDENTITY, invertHomography } from '@/lib/photo/ground/homography';
import type { Pixels, Point } from '@/lib/photo/raster/pixels';
import { alignAndCompare } from '@/lib/work/photos/compare-photos';
import { drawLawn } from '../lineup/draw-lawn';

const plots = [
  {
    id: 'K',
    check: true,
    corners: [
      [40, 60],
      [200, 60],
      [200, 300],
      [40, 300],
    ],
    cornersAfter: [
      [40, 60],
      [200, 60],
      [200, 300],
      [40, 300],
    ],
  },
  {
    id: 'A',
    check: false,
    corners: [
      [230, 60],
      [390, 60],
      [390, 300],
      [230, 300],
    ],
    cornersAfter: [
      [230, 60],
      [390, 60],
      [390, 300],
      [230, 300],
    ],
  },
] as unknown as Parameters<typeof alignAndCompare>[2]['plots'];

/** Lays an even board of a warm grey onto the photo. */
function layGrey(photo: Pixels, corners: readonly Point[]): Pixels {
  const back = invertHomography(
    homographyFrom4(
      [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      corners,
    )!,
  )!;
  for (let y = 0; y < photo.height; y++) {
    for (let x = 0; x < photo.width; x++) {
      const [u, v] = applyHomography(back, [x, y]);
      if (u >= 0 && v >= 0 && u <= 1 && v <= 1) photo.data.set([150, 128, 104], (y * photo.width + x) * 3);
    }
  }
  return photo;
}

const photo = (blades: number) => drawLawn(672, 504, { ground: 3, blades }, IDENTITY);
const CARD: Point[] = [
  [440, 340],
  [560, 345],
  [556, 440],
  [432, 434],
];
const compare = (before: Pixels, after: Pixels) => alignAndCompare(before, after, { plots }, { trustGiven: true });

describe('a board that nobody outlined', () => {
  test('counts when it is in both photos', () => {
    expect(compare(layGrey(photo(1), CARD), layGrey(photo(2), CARD)).correction.after).toBe('grey-card');
  });

  test('in one photo alone is something else: neither its colour nor its light is used', () => {
    const compared = compare(photo(1), layGrey(photo(2), CARD));
    expect(compared.correction.after).toBe('check-ratio');
    expect(compared.cautions.map((caution) => caution.code)).not.toContain('warm-light');
  });

  test('of another shape than in the earlier photo is another thing', () => {
    const slab: Point[] = [
      [420, 340],
      [640, 345],
      [638, 400],
      [416, 396],
    ];
    expect(
      compare(layGrey(photo(1), CARD), layGrey(photo(2), slab)).cautions.map((caution) => caution.code),
    ).not.toContain('warm-light');
  });
});
