import 'server-only';
import type { OutlinesFile } from '../../forms/outlines-file';
import { greyFieldOf, paperOf, pegsOfUnread, registerByCards, type CardRegistration } from '../../lineup/cards-pair';
import { findBoardsIn } from '../../lineup/find-boards';
import { findCards, type SeenCard } from '../../lineup/find-cards';
import { registrationView } from '../../lineup/pair-looked';
import { registerPair, type Registration } from '../../lineup/register';
import { comparePair } from '../../photo/compare-pair';
import { type PairPlot, type PairResult } from '../../photo/pair/pair-input';
import { applyHomography, IDENTITY, invertHomography, type Homography } from '../../photo/ground/homography';
import { fitHomography } from '../../photo/ground/homography-fit';
import type { Caution } from '../../photo/cautions';
import { CHANGE } from '../../photo/change';
import { MARKS } from '../../photo/marks/marks';
import type { MarkKind } from '../../photo/marks/kind';
import { lookAtOne, type SinglePlot } from '../../photo/marks/look-at-one';
import { measurePlots } from '../../photo/measure/measure';
import type { Pixels, Point, Polygon } from '../../photo/raster/pixels';

type Corners = readonly (readonly [number, number])[];
type Interval = readonly [low: number, high: number];

/** What `npm run compare` prints for a pair: pixel values in the upright full-size photos. */
export interface ComparedPair {
  readonly registration: {
    readonly status: 'ok' | 'taps';
    readonly confidence: number;
    readonly ms: number;
    readonly stripCornersAfter: Readonly<Record<string, Corners>>;
    /** True when the corners are the given taps, not the photos' own lining up. */
    readonly fromTaps: boolean;
  };
  readonly strips: readonly ComparedStrip[];
  readonly patches: readonly ComparedPatch[];
  /** Changes that fit no named kind: to look at, not counted. */
  readonly possible: readonly ComparedPatch[];
  readonly correction: { readonly before: string; readonly after: string };
  /** Mean CIEDE2000 of the chart's patches after correction, null without a chart. */
  readonly correctionResidualDeltaE00: { readonly before: number | null; readonly after: number | null };
  readonly cautions: readonly Caution[];
  /** Parts of the outlines that are not turf, in the earlier photo. */
  readonly notTurf: readonly {
    readonly strip: string;
    readonly what: string;
    readonly share: number;
    readonly polygon: Corners;
  }[];
  readonly method: { readonly change: string; readonly marks: string };
}

export interface ComparedStrip {
  readonly id: string;
  readonly dgciBefore: number | null;
  readonly dgciAfter: number | null;
  /** (later - earlier) less the check's; null for the check. */
  readonly diffMinusCheck: number | null;
  readonly ci95: Interval | null;
  readonly diffWithoutPatches: number | null;
  readonly ci95WithoutPatches: Interval | null;
  readonly comparedShare: number | null;
  readonly refused?: string;
}

export interface ComparedPatch {
  readonly kind: MarkKind;
  readonly strip: string;
  readonly photo: 'after';
  readonly new: boolean;
  readonly score: number;
  readonly polygon: Corners;
  readonly centroid: readonly [number, number];
  readonly areaShareStrip: number;
  readonly areaM2: number | null;
  readonly deltaE00: number;
}

/**
 * Version of how a pair is lined up, its boards found and its result read, beside the versions of the change and of the
 * marks.
 */
export const COMPARE_VERSION = 'pair-5';

/** Farther apart than this share of the diagonal, given taps win over the photos' own lining up. */
const TAPS_DISAGREE = 0.02;

export interface PairFacts {
  /** The corners given for the later photo were found by lining up, or surveyed: not to be found again. */
  readonly trustGiven?: boolean;
  /** Focal lengths of the two photos over their long sides, where their files name them. */
  readonly focal?: readonly [number | undefined, number | undefined];
}

/**
 * Lines two photos up, by themselves or by given taps, and compares them. When neither is sure, the best guess of the
 * corners is given with status 'taps' and nothing is computed from it.
 */
export function alignAndCompare(
  before: Pixels,
  after: Pixels,
  outlines: OutlinesFile,
  { trustGiven = false, focal }: PairFacts = {},
): ComparedPair {
  const views = { before: registrationView(before), after: registrationView(after) };
  const found = { before: findBoardsIn(views.before), after: findBoardsIn(views.after) };
  const chart = boardPair(outlines.chart, ...inBoth(found.before.chart, found.after.chart));
  const cards = { before: findCards(before), after: findCards(after) };
  const papers = { before: paperOf(cards.before), after: paperOf(cards.after) };
  const [greyBefore, greyAfter] = inBoth(found.before.greyCard, found.after.greyCard);
  const greyCard = boardPair(
    outlines.greyCard,
    greyBefore ?? greyFieldOf(before, cards.before),
    greyAfter ?? greyFieldOf(after, cards.after),
  );
  const taps = tapsOf(outlines);
  const byCards =
    trustGiven && taps !== null
      ? null
      : registerByCards(
          { cards: cards.before, width: before.width, height: before.height, focal: focal?.[0] },
          { cards: cards.after, width: after.width, height: after.height, focal: focal?.[1] },
          outlines.plots.flatMap((plot) => [...plot.corners]),
        );
  const registration =
    trustGiven && taps !== null
      ? givenCorners(outlines, taps)
      : byCards?.sure
        ? { status: 'ok' as const, confidence: byCards.confidence, homography: byCards.homography, ms: 0 }
        : orGuess(
            registerPair(before, after, {
              plotCornersBefore: outlines.plots.map((plot) => plot.corners),
              plotMetresBefore: outlines.plots.map((plot) => plot.groundMetres),
              focal,
              boardsBefore: [chart.before, greyCard.before, ...papers.before].filter((board) => board !== undefined),
              boardsAfter: [chart.after, greyCard.after, ...papers.after].filter((board) => board !== undefined),
              views,
            }),
            byCards,
          );
  const own = outlines.plots.map((plot) => plot.corners.map((p) => applyHomography(registration.homography, p)));
  const diagonal = Math.hypot(after.width, after.height);
  const tapsWin = taps !== null && (registration.status !== 'ok' || farthest(own, taps) > TAPS_DISAGREE * diagonal);
  const cornersAfter = tapsWin ? taps : own;
  const status = registration.status === 'ok' && !tapsWin ? 'ok' : 'taps';
  const linedUp = {
    status,
    confidence: registration.confidence,
    ms: Math.round(registration.ms),
    stripCornersAfter: Object.fromEntries(outlines.plots.map((plot, k) => [plot.id, cornersAfter[k]!])),
    fromTaps: tapsWin,
  } as const;
  const dgci = {
    before: headline(
      before,
      outlines,
      outlines.plots.map((p) => p.corners),
    ),
    after: status === 'ok' || tapsWin ? headline(after, outlines, cornersAfter) : null,
  };
  const method = { change: CHANGE.version, marks: MARKS.version };
  if (status === 'taps' && !tapsWin) {
    const sentence =
      'The two photos could not be lined up reliably. Check the outline or tap the plots’ corners in the later photo.';
    return {
      registration: linedUp,
      strips: outlines.plots.map((plot, k) => ({
        id: plot.id,
        dgciBefore: dgci.before[k]!,
        dgciAfter: null,
        diffMinusCheck: null,
        ci95: null,
        diffWithoutPatches: null,
        ci95WithoutPatches: null,
        comparedShare: null,
        refused: sentence,
      })),
      patches: [],
      possible: [],
      correction: { before: 'none', after: 'none' },
      correctionResidualDeltaE00: { before: null, after: null },
      cautions: [{ code: 'not-lined-up', sentence, value: registration.confidence }],
      notTurf: [],
      method,
    };
  }
  const plots = outlines.plots.map((plot, k): PairPlot => ({
    id: plot.id,
    check: plot.check === true,
    cornersBefore: plot.corners,
    cornersAfter: cornersAfter[k]!,
    ...(plot.groundMetres === undefined ? {} : { groundMetres: plot.groundMetres }),
  }));
  const result = comparePair({
    before,
    after,
    plots,
    chart,
    greyCard,
    lying: withPegs(papers, cards, registration.homography),
    ...(outlines.chartEdition === undefined ? {} : { chartEdition: outlines.chartEdition }),
  });
  const patches = result.marks.map(patchOf);
  return {
    registration: linedUp,
    strips: plots.map((plot, k) => stripOf(plot, result, k, dgci.before[k]!, dgci.after?.[k] ?? null)),
    patches: patches.filter((patch) => patch.kind !== 'other'),
    possible: patches.filter((patch) => patch.kind === 'other'),
    correction: { before: result.corrections.before.method, after: result.corrections.after.method },
    correctionResidualDeltaE00: {
      before: result.corrections.before.residualDeltaE00 ?? null,
      after: result.corrections.after.residualDeltaE00 ?? null,
    },
    cautions: result.cautions,
    notTurf: result.notTurf.flatMap(({ parts }, k) =>
      parts.map((part) => ({
        strip: plots[k]!.id,
        what: part.what,
        share: part.share,
        polygon: part.polygon.map(rounded),
      })),
    ),
    method,
  };
}

/** What one photo shows by itself: its marks may be old. */
export interface LookedAt {
  readonly patches: readonly ComparedPatch[];
  readonly notTurf: readonly string[];
}

/** Looks at the plots of one photo that has no earlier one. */
export function lookAtSingle(photo: Pixels, plots: readonly SinglePlot[]): LookedAt {
  const { marks, notTurf } = lookAtOne(photo, plots);
  return {
    patches: marks.map(patchOf),
    notTurf: notTurf.flatMap(({ sentence }) => (sentence === null ? [] : [sentence])),
  };
}

/** Papers seen, and the ground about the pegs of cards that one of the photos doesn't let read. */
function withPegs(
  papers: { readonly before: readonly Polygon[]; readonly after: readonly Polygon[] },
  cards: { readonly before: readonly SeenCard[]; readonly after: readonly SeenCard[] },
  toAfter: Homography,
): { before: Polygon[]; after: Polygon[] } {
  const toBefore = invertHomography(toAfter);
  return {
    before: [...papers.before, ...(toBefore ? pegsOfUnread(cards.before, cards.after, toBefore) : [])],
    after: [...papers.after, ...pegsOfUnread(cards.after, cards.before, toAfter)],
  };
}

/** Where lining up isn't sure, what a few cards say is the better guess to begin taps with. */
function orGuess(found: Registration, byCards: CardRegistration | null): Registration {
  return found.status === 'ok' || byCards === null
    ? found
    : { ...found, confidence: byCards.confidence, homography: byCards.homography };
}

/** Corners that are as good as a registration of one's own. */
function givenCorners(
  outlines: OutlinesFile,
  taps: readonly Polygon[],
): { status: 'ok'; confidence: number; homography: Homography; ms: number } {
  const map = fitHomography(
    outlines.plots.flatMap((plot) => [...plot.corners]),
    taps.flatMap((corners) => [...corners]),
  );
  return { status: 'ok', confidence: 1, homography: map ?? IDENTITY, ms: 0 };
}

/**
 * A board that nobody outlined counts only when it is surely one: found in both photos, beyond doubt, and of about the
 * same shape. Drawn scenes give true boards 0.79 and more, half in shade too; 34 real photos without boards gave
 * nothing at all.
 */
const SURE = { confidence: 0.75, shape: 0.35 } as const;

interface FoundBoard {
  readonly corners: Polygon;
  readonly confidence: number;
}

function inBoth(before: FoundBoard | undefined, after: FoundBoard | undefined): [Polygon?, Polygon?] {
  if (!before || !after || Math.min(before.confidence, after.confidence) < SURE.confidence) return [];
  return Math.abs(Math.log(longSide(before.corners) / longSide(after.corners))) <= SURE.shape
    ? [before.corners, after.corners]
    : [];
}

/** A board's longer side over its shorter, from the means of opposite sides. */
function longSide(corners: Polygon): number {
  const [a, b, c, d] = corners.map(([x, y], i) =>
    Math.hypot(x - corners[(i + 1) % 4]![0], y - corners[(i + 1) % 4]![1]),
  ) as [number, number, number, number];
  return Math.max(a + c, b + d) / Math.max(1e-9, Math.min(a + c, b + d));
}

function boardPair(
  given: { before?: Polygon | undefined; after?: Polygon | undefined } | undefined,
  before: Polygon | undefined,
  after: Polygon | undefined,
): { before?: Polygon; after?: Polygon } {
  const first = given === undefined ? before : given.before;
  const second = given === undefined ? after : given.after;
  return { ...(first === undefined ? {} : { before: first }), ...(second === undefined ? {} : { after: second }) };
}

/** The plots' corners in the later photo by taps: those given, others carried along by them. Null without any. */
function tapsOf(outlines: OutlinesFile): Polygon[] | null {
  const tapped = outlines.plots.filter((plot) => plot.cornersAfter !== undefined);
  if (tapped.length === 0) return null;
  const map: Homography | null = fitHomography(
    tapped.flatMap((plot) => [...plot.corners]),
    tapped.flatMap((plot) => [...plot.cornersAfter!]),
  );
  if (map === null) return null;
  return outlines.plots.map((plot) => plot.cornersAfter ?? plot.corners.map((p) => applyHomography(map, p)));
}

function farthest(a: readonly Polygon[], b: readonly Polygon[]): number {
  return Math.max(
    ...a.flatMap((polygon, k) => polygon.map(([x, y], i): number => Math.hypot(x - b[k]![i]![0], y - b[k]![i]![1]))),
  );
}

function headline(photo: Pixels, outlines: OutlinesFile, corners: readonly Polygon[]): (number | null)[] {
  const readings = measurePlots(
    photo,
    outlines.plots.map((plot, k) => ({ id: plot.id, polygon: corners[k]! })),
  );
  return readings.map((reading) => reading.greenness?.dgci ?? null);
}

function stripOf(
  plot: PairPlot,
  result: PairResult,
  k: number,
  dgciBefore: number | null,
  dgciAfter: number | null,
): ComparedStrip {
  const { change, changeWithoutMarks, refused, comparedShare } = result.changes[k]!;
  return {
    id: plot.id,
    dgciBefore,
    dgciAfter,
    diffMinusCheck: change?.difference ?? null,
    ci95: change?.ci95 ?? null,
    diffWithoutPatches: changeWithoutMarks?.difference ?? null,
    ci95WithoutPatches: changeWithoutMarks?.ci95 ?? null,
    comparedShare,
    ...(refused === null ? {} : { refused }),
  };
}

function patchOf(mark: PairResult['marks'][number]): ComparedPatch {
  return {
    kind: mark.kind,
    strip: mark.plotId,
    photo: 'after',
    new: mark.isNew !== false,
    score: mark.score,
    polygon: mark.polygon.map(rounded),
    centroid: rounded(mark.centroid),
    areaShareStrip: mark.share,
    areaM2: mark.areaM2,
    deltaE00: mark.deltaE00,
  };
}

function rounded([x, y]: Point): readonly [number, number] {
  return [Math.round(10 * x) / 10, Math.round(10 * y) / 10];
}
