import { describe, expect, test } from 'vitest';
import { askState } from '@/app/photos/_outline/ask-steps';
import { DOUBT_OF_COPY } from '@/lib/photo/ground/follow-taps';
import type { Point } from '@/lib/photo/raster/pixels';

const size = { width: 750, height: 500 };
const plots = [
  {
    plotId: 'a',
    corners: [
      [300, 265],
      [465, 265],
      [640, 450],
      [110, 450],
    ] as Point[],
  },
];
const asked = (places: readonly Point[]) =>
  askState(
    places.map((guess) => ({ guess })),
    places.map(([x, y]): Point => [x + 12, y + 5]),
    plots,
    size,
    DOUBT_OF_COPY,
  );

describe('askState', () => {
  test('says that outlines hang loose when all that was found lies beyond the plots, and not when it lies round them', () => {
    const beyond = asked([
      [605, 280],
      [275, 221],
      [94, 263],
      [675, 299],
    ]);
    expect(beyond).toMatchObject({ done: true, tooLittle: false, loose: true });
    const round = asked([
      [280, 255],
      [500, 260],
      [660, 470],
      [90, 460],
    ]);
    expect(round).toMatchObject({ done: true, tooLittle: false, loose: false });
  });
});
