import { describe, expect, it } from 'vitest';
import { findCards, type SeenCard } from '@/lib/lineup/find-cards';
import { greyFieldOf, paperOf, pegsOfUnread, registerByCards } from '@/lib/lineup/cards-pair';
import { CODE_CORNERS } from '@/lib/photo/ground/card-design';
import { LAYING_SD_M } from '@/lib/photo/ground/card-ground';
import { applyHomography, composeHomographies, invertHomography, type Homography } from '@/lib/photo/ground/homography';
import type { Point } from '@/lib/photo/raster/pixels';
import { contains, polygonArea } from '@/lib/photo/raster/region';
import { readBoard } from '@/lib/photo/ground/board';
import { plotsByCards } from '@/lib/work/photos/find-plots-by-cards';
import { chance } from './draw-lawn';
import { drawCards, groundView, type LaidCard } from './draw-cards';

const W = 1600;
const H = 1200;
const CARDS: readonly LaidCard[] = [
  { number: 1, xM: 0, yM: 0, turnDeg: 5 },
  { number: 2, xM: 2.6, yM: 0, turnDeg: 95 },
  { number: 3, xM: 2.6, yM: 1.8, turnDeg: 182 },
  { number: 4, xM: 0, yM: 1.8, turnDeg: -80 },
];
const PLAN = CARDS.map(({ number, xM, yM }) => ({ number, placeM: [xM, yM] as Point }));
const PLOT: Point[] = [
  [0.4, 1.6],
  [1.2, 1.6],
  [1.2, 0.2],
  [0.4, 0.2],
];
const FAR: Point[] = [
  [40, 42],
  [41, 42],
  [41, 40],
  [40, 40],
];
const [first, second] = [
  groundView(W, H, { xM: 1.3, yM: -1.9 }),
  groundView(W, H, { xM: 1.5, yM: -2.1, tiltDeg: 34, rollDeg: -4 }),
];
const before = drawCards(W, H, CARDS, first, { seed: 2 });
const after = drawCards(
  W,
  H,
  CARDS.map((card) => ({ ...card, turnDeg: card.turnDeg + 60 })),
  second,
  { seed: 8 },
);
const moved = drawCards(
  W,
  H,
  CARDS.map((card) => (card.number === 2 ? { ...card, xM: card.xM - 0.12 } : card)),
  second,
  { seed: 8 },
);
const diagonal = Math.hypot(W, H);
const inPhoto = (cards: ReturnType<typeof findCards>) => ({ cards, width: W, height: H });
const corners = PLOT.map((p) => applyHomography(first, p));
const off = (map: (p: Point) => Point, view = second): number =>
  Math.max(
    ...PLOT.map((p) => {
      const [a, b] = [map(p), applyHomography(view, p)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]) / diagonal;
    }),
  );

describe('two photos with the same four cards', () => {
  it('are lined up to a thousandth of the diagonal', () => {
    const found = registerByCards(inPhoto(findCards(before)), inPhoto(findCards(after)), corners)!;
    expect(found.strayed).toBeNull();
    expect(found.confidence).toBeGreaterThan(0.5);
    expect(off((p) => applyHomography(found.homography, applyHomography(first, p)))).toBeLessThan(0.001);
  });
  it('name a card that was laid 12 cm from its peg, and are lined up by the other three', () => {
    const found = registerByCards(inPhoto(findCards(before)), inPhoto(findCards(moved)), corners)!;
    expect(found.strayed).toBe(2);
    expect(off((p) => applyHomography(found.homography, applyHomography(first, p)))).toBeLessThan(0.0015);
  });
  it('are not lined up when one of only three strayed: nobody knows which', () => {
    const three = (cards: ReturnType<typeof findCards>) => cards.filter((card) => card.number !== 4);
    expect(registerByCards(inPhoto(three(findCards(before))), inPhoto(three(findCards(moved))), corners)).toBeNull();
  });
  it('are not lined up by one card', () => {
    expect(registerByCards(inPhoto(findCards(before).slice(0, 1)), inPhoto(findCards(after)), corners)).toBeNull();
  });
});

describe('cards laid over their pegs by hand, a few millimetres off on both dates, one out of the later picture', () => {
  const random = chance(11);
  const normal = (sd: number): number => sd * Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  /** What find-cards would see of cards, without drawing them. */
  const seenIn = (view: Homography): SeenCard[] =>
    CARDS.map(({ number, xM, yM }) => {
      const [c, s] = [Math.cos(number), Math.sin(number)];
      const [x, y] = [xM + normal(LAYING_SD_M), yM + normal(LAYING_SD_M)];
      const corners = CODE_CORNERS.map(([u, v]): Point => {
        const [px, py] = applyHomography(view, [x + (c * u - s * v) / 1000, y - (s * u + c * v) / 1000]);
        return [px + normal(0.3), py + normal(0.3)];
      });
      return { number, corners: corners as [Point, Point, Point, Point], wrongCells: 0, contrast: 8 };
    });
  const WHOLE: Point[] = CARDS.map(({ xM, yM }): Point => [xM, yM]);
  const results = Array.from({ length: 60 }, () => {
    const found = registerByCards(
      { cards: seenIn(first), width: W, height: H, focal: 0.75 },
      { cards: seenIn(second).slice(0, 3), width: W, height: H, focal: 0.75 },
      WHOLE.map((p) => applyHomography(first, p)),
    );
    const off = WHOLE.map((p) => {
      const [x, y] = found ? applyHomography(found.homography, applyHomography(first, p)) : [0, 0];
      const [u, v] = applyHomography(second, p);
      return Math.hypot(x - u, y - v) / diagonal;
    });
    return { found, off: Math.max(...off) };
  });
  it('are believed nearly always', () => {
    expect(results.filter(({ found }) => found?.sure).length).toBeGreaterThanOrEqual(54);
  });
  it('place the plots’ corners, the fourth one too, to 1 % of the diagonal', () => {
    expect(Math.max(...results.filter(({ found }) => found?.sure).map(({ off }) => off))).toBeLessThan(0.01);
  });
});

it('a card that one photo doesn’t let read is left out about its peg: its paper lies within, however it is turned', () => {
  const there = findCards(before);
  const toHere = composeHomographies(second, invertHomography(first)!);
  const here = findCards(after);
  const [ring] = pegsOfUnread(
    here.filter(({ number }) => number !== 3),
    there,
    toHere,
  );
  const paper = paperOf(here.filter(({ number }) => number === 3))[0]!;
  for (const corner of paper) expect(contains(ring!, corner)).toBe(true);
  expect(polygonArea(ring!) / polygonArea(paper)).toBeLessThan(2.6);
  expect(pegsOfUnread(here, there, toHere)).toEqual([]);
});

describe('one photo with cards whose pegs are known', () => {
  const plan = {
    cards: PLAN,
    plots: [
      { id: 'A', polygonM: PLOT },
      { id: 'far away', polygonM: FAR },
    ],
  };
  it('gets its plots with no earlier photo, and none that is out of the picture', () => {
    const found = plotsByCards(after, plan)!;
    expect(Object.keys(found.corners)).toEqual(['A']);
    expect(off((p) => found.corners['A']![PLOT.indexOf(p)]!)).toBeLessThan(0.001);
    expect(found.sentence).toBe('Plots placed by the plot cards 1, 2, 3 and 4.');
  });
  it('ignores cards that belong to no peg', () => {
    expect(plotsByCards(after, { ...plan, cards: PLAN.slice(0, 1) })).toBeNull();
  });
});

it('the grey field used is that of a card in the sun, and reads as light of 18 % reflectance', () => {
  const photo = drawCards(
    W,
    H,
    CARDS.map((card) => (card.number === 1 ? card : { ...card, light: 0.3 })),
    first,
    { white: [1, 0.8, 0.6], light: 0.9 },
  );
  const cards = findCards(photo);
  const field = greyFieldOf(photo, cards)!;
  const reading = readBoard(photo, field)!;
  expect(reading.linear[0]).toBeCloseTo(0.18 * 0.9, 2);
  expect(reading.linear[2] / reading.linear[0]).toBeCloseTo(0.6, 1);
});
