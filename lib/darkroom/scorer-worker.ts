import 'server-only';
import { makeCuts, type CutRequest } from './plot-cuts';
import { PhotoRefused } from './refused';
import { scoreHere, type ScoredPhoto, type ScoreRequest } from './score';
import type { ScoreAnswer } from './scorer';

/**
 * One photo on a worker's thread. A refusal comes back as data, since an error's class doesn't survive the way back.
 */
export default async function scoreOnWorker(request: ScoreRequest): Promise<ScoreAnswer> {
  try {
    const scored: ScoredPhoto = await scoreHere(request);
    return { scored };
  } catch (error) {
    if (error instanceof PhotoRefused) return { refused: { code: error.code, sentence: error.message } };
    throw error;
  }
}

/** A photo's plots cut out, on a worker's thread. */
export const cutOnWorker = (request: CutRequest): Promise<void> => makeCuts(request);
