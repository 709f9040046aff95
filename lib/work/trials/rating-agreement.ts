import 'server-only';
import { blandAltman, linConcordance, weightedKappa } from '@/lib/stats/agreement';
import { correlation } from '@/lib/stats/regression';
import type { TrialRecord } from './trial-record';

const SCORES = [1, 2, 3, 4, 5, 6, 7, 8, 9];
const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

export interface RaterPair {
  a: string;
  b: string;
  strips: number;
  /** Quadratic weights; null when both used one same score only. */
  kappa: number | null;
  concordance: number | null;
  /** Mean of a − b, points. */
  difference: number;
  /** Between these lie 95 % of the differences a − b on one strip, points. */
  limits: readonly [low: number, high: number];
}

export interface RatingAgreement {
  pairs: RaterPair[];
  /** Strips a rater was shown twice in one sitting: mean absolute difference, points. */
  repeats: { rater: string; strips: number; difference: number }[];
  /** Score against index, both less their mean over the day, so that light and season fall out. */
  withIndex: { strips: number; r: number | null };
}

/** How far raters agree with each other, with themselves, and with the index. */
export function ratingAgreement(record: TrialRecord): RatingAgreement {
  const raters = [...new Set(record.ratings.map((rating) => rating.rater))];
  const strips = [
    ...new Map(
      record.ratings.map((rating) => [`${rating.plotId} ${rating.on}`, { plotId: rating.plotId, on: rating.on }]),
    ).values(),
  ];
  const score = (rater: string, { plotId, on }: { plotId: string; on: string }): number | null => {
    const own = record.ratings
      .filter((rating) => rating.rater === rater && rating.plotId === plotId && rating.on === on)
      .map((rating) => rating.score);
    return own.length > 0 ? mean(own) : null;
  };
  const pairs = raters.flatMap((a, i) =>
    raters.slice(i + 1).flatMap((b): RaterPair[] => {
      const both = strips.flatMap((strip) => {
        const [x, y] = [score(a, strip), score(b, strip)];
        return x === null || y === null ? [] : [[x, y] as const];
      });
      if (both.length < 2) return [];
      const [xs, ys] = [both.map(([x]) => x), both.map(([, y]) => y)];
      const { bias, low, high } = blandAltman(xs, ys);
      return [
        {
          a,
          b,
          strips: both.length,
          kappa: weightedKappa(xs.map(Math.round), ys.map(Math.round), SCORES),
          concordance: linConcordance(xs, ys)?.ccc ?? null,
          difference: bias,
          limits: [low, high],
        },
      ];
    }),
  );
  const repeats = raters.flatMap((rater) => {
    const twice = strips.flatMap(({ plotId, on }) => {
      const own = record.ratings.filter(
        (rating) => rating.rater === rater && rating.plotId === plotId && rating.on === on,
      );
      // A second look is one within a sitting at the photos: who rates again another time has seen the first scores, or
      // means to mend them; on the lawn no strip is shown twice.
      const second = own.flatMap((first, at) =>
        own
          .slice(at + 1)
          .filter(
            (other) =>
              first.photoId !== null &&
              other.photoId === first.photoId &&
              other.ratedAt.getTime() === first.ratedAt.getTime(),
          )
          .slice(0, 1)
          .map((other) => Math.abs(first.score - other.score)),
      );
      return second.slice(0, 1);
    });
    return twice.length > 0 ? [{ rater, strips: twice.length, difference: mean(twice) }] : [];
  });
  const seen = strips.flatMap((strip) => {
    const scores = raters.map((rater) => score(rater, strip)).filter((value) => value !== null);
    const index = record.readings
      .filter((reading) => reading.plotId === strip.plotId && reading.on === strip.on && reading.dgci !== null)
      .map((reading) => reading.dgci as number);
    return scores.length > 0 && index.length > 0 ? [{ on: strip.on, score: mean(scores), index: mean(index) }] : [];
  });
  const centred = (of: 'score' | 'index') =>
    seen.map((one) => one[of] - mean(seen.filter((other) => other.on === one.on).map((other) => other[of])));
  return {
    pairs,
    repeats,
    withIndex: { strips: seen.length, r: seen.length >= 3 ? correlation(centred('score'), centred('index')) : null },
  };
}
