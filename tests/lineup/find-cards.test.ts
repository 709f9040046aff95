import { describe, expect, it } from 'vitest';
import { findCards } from '@/lib/lineup/find-cards';
import { cardCells, readCard } from '@/lib/photo/ground/card-code';
import { CODE_CORNERS } from '@/lib/photo/ground/card-design';
import { cardAtPlace, cardToPhoto, fitCardGround, LAYING_SD_M } from '@/lib/photo/ground/card-ground';
import { applyHomography, composeHomographies, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { drawCards, groundView, type LaidCard } from './draw-cards';
import { chance } from './draw-lawn';

const W = 1800;
const H = 1350;
const CORNERS: readonly LaidCard[] = [
  { number: 11, xM: 0, yM: 0, turnDeg: 12 },
  { number: 12, xM: 3, yM: 0, turnDeg: -100 },
  { number: 13, xM: 3, yM: 2.2, turnDeg: 190 },
  { number: 14, xM: 0, yM: 2.2, turnDeg: 47 },
];
const PLOT: readonly Point[] = [
  [0.2, 2.1],
  [1, 2.1],
  [1, 0.1],
  [0.2, 0.1],
];
const onPlan = (cards: readonly LaidCard[], seen: ReturnType<typeof findCards>) =>
  seen.map((card) => {
    const laid = cards.find((one) => one.number === card.number)!;
    return { number: card.number, corners: card.corners, toFrame: cardAtPlace([laid.xM, laid.yM]) };
  });
const worst = (map: Homography, truth: Homography, points: readonly Point[]): number =>
  (100 / Math.hypot(W, H)) *
  Math.max(
    ...points.map((p) => {
      const [a, b] = [applyHomography(map, p), applyHomography(truth, p)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]);
    }),
  );

describe('the codes of plot cards', () => {
  it('lie at least 11 cells apart in every turn, as the family 36h11 promises', () => {
    const inner = (n: number) =>
      cardCells(n)
        .slice(1, 7)
        .flatMap((row) => row.slice(1, 7));
    const turned = (cells: boolean[]) => cells.map((_, i) => cells[(5 - (i % 6)) * 6 + Math.floor(i / 6)]!);
    let nearest = 36;
    for (let a = 1; a <= 64; a++) {
      let other = inner(a);
      for (let turn = 0; turn < 4; turn++, other = turned(other)) {
        for (let b = 1; b <= 64; b++)
          if (b !== a || turn > 0) nearest = Math.min(nearest, inner(b).filter((v, i) => v !== other[i]).length);
      }
    }
    expect(nearest).toBe(11);
  });
  it('are told in each turn, with two cells wrong, and not with five', () => {
    const upright = cardCells(7)
      .slice(1, 7)
      .flatMap((row) => row.slice(1, 7));
    expect(readCard(upright)).toEqual({ number: 7, quarterTurns: 0, wrongCells: 0 });
    const anticlockwise = upright.map((_, i) => upright[(i % 6) * 6 + 5 - Math.floor(i / 6)]!);
    expect(readCard(anticlockwise)).toEqual({ number: 7, quarterTurns: 1, wrongCells: 0 });
    const flipped = (n: number) => upright.map((v, i) => (i < n ? !v : v));
    expect(readCard(flipped(2))?.number).toBe(7);
    expect(readCard(flipped(5))).toBeNull();
  });
});

describe('cards drawn on turf, 3 m away', () => {
  const view = groundView(W, H);
  const seen = findCards(drawCards(W, H, CORNERS, view));
  it('are all read, to half a pixel at each corner, however they are turned', () => {
    expect(seen.map((card) => card.number)).toEqual([11, 12, 13, 14]);
    for (const card of seen) {
      const laid = CORNERS.find((one) => one.number === card.number)!;
      const [c, s] = [Math.cos((laid.turnDeg * Math.PI) / 180), Math.sin((laid.turnDeg * Math.PI) / 180)];
      CODE_CORNERS.forEach(([x, y], i) => {
        // Turned clockwise seen from above; the plan's y is away.
        const truth = applyHomography(view, [laid.xM + (c * x - s * y) / 1000, laid.yM - (s * x + c * y) / 1000]);
        expect(Math.hypot(truth[0] - card.corners[i]![0], truth[1] - card.corners[i]![1])).toBeLessThan(0.5);
      });
    }
  });
  it('place the plots to 0.05 % of the diagonal', () => {
    const ground = fitCardGround(onPlan(CORNERS, seen), { scaleFree: true })!;
    expect(worst(ground.map, view, PLOT)).toBeLessThan(0.05);
    expect(ground.printScale).toBeCloseTo(1, 2);
  });
  it('in shade, tilted, with one hidden, still place the plots to 0.1 %', () => {
    const view = groundView(W, H, { rollDeg: -6, tiltDeg: 30, xM: 1.6, yM: -2.6 });
    const cards = CORNERS.map((card, i) =>
      i === 1 ? { ...card, covered: 0.5 } : i >= 2 ? { ...card, light: 0.22 } : card,
    );
    const seen = findCards(drawCards(W, H, cards, view, { seed: 5 }));
    expect(seen.map((card) => card.number)).toEqual([11, 13, 14]);
    expect(worst(fitCardGround(onPlan(cards, seen), { scaleFree: true })!.map, view, PLOT)).toBeLessThan(0.1);
  });
  it('tell that a printer shrank them by 5 %', () => {
    const cards = CORNERS.map((card) => ({ ...card, scale: 0.95 }));
    const ground = fitCardGround(onPlan(cards, findCards(drawCards(W, H, cards, view))), { scaleFree: true })!;
    expect(ground.printScale).toBeGreaterThan(0.945);
    expect(ground.printScale).toBeLessThan(0.955);
    expect(worst(ground.map, view, PLOT)).toBeLessThan(0.05);
  });
  it('are not seen in turf without any', () => {
    expect(findCards(drawCards(1200, 900, [], groundView(1200, 900), { seed: 3 }))).toEqual([]);
  });
});

it('the map between two frames is the one that both cards’ maps make', () => {
  const [first, second] = [groundView(W, H), groundView(W, H, { xM: 0.8 })];
  const at = (view: Homography, [x, y]: Point) => composeHomographies(view, cardAtPlace([x, y]));
  const corners = (view: Homography, place: Point) =>
    CODE_CORNERS.map(([x, y]): Point => applyHomography(at(view, place), [x / 1000, y / 1000]));
  const places: Point[] = [
    [0, 0],
    [3, 0.4],
  ];
  const ground = fitCardGround(
    places.map((place, i) => ({
      number: i + 1,
      corners: corners(second, place),
      toFrame: cardToPhoto(corners(first, place))!,
    })),
    { scaleFree: false },
  )!;
  for (const p of PLOT) {
    const [a, b] = [applyHomography(ground.map, applyHomography(first, p)), applyHomography(second, p)];
    expect(Math.hypot(a[0] - b[0], a[1] - b[1])).toBeLessThan(1e-3);
  }
});

it('the standard error of a placed point holds: with corners off by 0.5 pixel and cards by 4 mm, 95 % of 150 lie within its two', () => {
  const view = groundView(W, H, { rollDeg: 3, yM: -2.5 });
  const random = chance(4);
  const noise = (sd: number): number => sd * Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  const point: Point = [1.5, 1];
  const truth = applyHomography(view, point);
  let within = 0;
  for (let draw = 0; draw < 150; draw++) {
    const cards = CORNERS.map(({ number, xM, yM }) => {
      const lies = cardAtPlace([xM + noise(LAYING_SD_M), yM + noise(LAYING_SD_M)]);
      return {
        number,
        toFrame: cardAtPlace([xM, yM]),
        corners: CODE_CORNERS.map(([x, y]): Point => {
          const [u, v] = applyHomography(composeHomographies(view, lies), [x / 1000, y / 1000]);
          return [u + noise(0.5), v + noise(0.5)];
        }),
      };
    });
    const ground = fitCardGround(cards, { scaleFree: false, cornerSdPx: 0.5 })!;
    const [x] = applyHomography(ground.map, point);
    if (Math.abs(x - truth[0]) < 2 * ground.sigmaPxAt(point)) within++;
  }
  // 150 draws of 95 %: three standard errors either way.
  expect(within / 150).toBeGreaterThan(0.896);
  expect(within / 150).toBeLessThan(0.995);
});
