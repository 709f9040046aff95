import { DOUBT_OF_COPY, followTaps, type Followed, type GuessDoubt } from '@/lib/photo/ground/follow-taps';
import { movedBy } from '@/lib/photo/ground/group-move';
import type { Point } from '@/lib/photo/raster/pixels';

/** What a person answered about one thing: its place, that it isn't in the photo, or nothing yet. */
export type ThingAnswer = Point | 'absent' | null;

/** As many are asked for; fewer do when they hold the plots' corners well enough. */
export const WANTED = 4;
/**
 * Standard deviation of the plots' worst corner that is good enough to stop asking, as a share of the photo's diagonal.
 */
const GOOD_ENOUGH = 0.006;
/**
 * What leaves the plots' worst corner more open than this is said, a share of the diagonal: things far off hold near
 * ground badly.
 */
const LOOSE = 0.012;
/** A tap that the others contradict by more than this share of the diagonal is asked about. */
const CONTRADICTED = 0.015;
/** A first tap farther from the guess than so many of its standard deviations: the guess was no better than a copy. */
const SURPRISED = 3;

export interface AskState {
  followed: Followed;
  found: number;
  /** Enough is known, or nothing more can be asked. */
  done: boolean;
  /** The outlines follow, but what was found leaves them room: to be looked at corner by corner. */
  loose: boolean;
  /** Too little was found to follow anything. */
  tooLittle: boolean;
  /** The next thing to ask for; null when done. */
  next: number | null;
  /** A tap that doesn't fit the others. */
  misfit: number | null;
  plots: { plotId: string; corners: Point[] }[];
}

/** Where asking stands after some answers: how the plots follow, and what is to be asked next. */
export function askState(
  things: readonly { guess: Point }[],
  answers: readonly ThingAnswer[],
  plots: readonly { plotId: string; corners: Point[] }[],
  size: { width: number; height: number },
  doubt: GuessDoubt,
): AskState {
  const pairs = answers.flatMap((answer, i) =>
    answer && answer !== 'absent' ? [{ index: i, guess: things[i]!.guess, tap: answer }] : [],
  );
  const unit = Math.hypot(size.width, size.height) / 2;
  const surprised = pairs.some(
    ({ guess, tap }) => Math.hypot(guess[0] - tap[0], guess[1] - tap[1]) > SURPRISED * doubt.shift * unit,
  );
  const followed = followTaps(pairs, size, surprised ? DOUBT_OF_COPY : doubt);
  const doubtPx = Math.max(...plots.flatMap(({ corners }) => corners.map(followed.uncertaintyPx)));
  const open = things.findIndex((_, i) => (answers[i] ?? null) === null);
  const enough = pairs.length >= WANTED || (pairs.length >= 2 && doubtPx < GOOD_ENOUGH * 2 * unit);
  const worst = followed.misfitPx.indexOf(Math.max(...followed.misfitPx));
  const done = enough || open < 0;
  return {
    followed,
    found: pairs.length,
    done,
    loose: done && pairs.length >= 2 && doubtPx > LOOSE * 2 * unit,
    tooLittle: done && pairs.length < 2,
    next: done ? null : open,
    misfit: pairs.length >= 3 && followed.misfitPx[worst]! > CONTRADICTED * 2 * unit ? pairs[worst]!.index : null,
    plots: plots.map(({ plotId, corners }) => ({ plotId, corners: movedBy(followed.correction, corners) })),
  };
}
