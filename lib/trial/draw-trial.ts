import { seededRandom } from '@/lib/stats/random';
import { designProblems, type TrialDesign } from '@/lib/trial/design';
import { layOutMap, type MapSizes, type TrialMap } from '@/lib/trial/plot-map';
import { randomiseTrial } from '@/lib/trial/randomise';

/** A drawn layout on the ground, or why there is none. */
export type DrawnTrial =
  | { readonly ok: true; readonly map: TrialMap }
  | { readonly ok: false; readonly problems: readonly string[] };

/** Draws a design by its seed and lays it on the ground: the same design, seed and sizes give the same map. */
export function drawTrial(design: TrialDesign, seed: number, sizes: MapSizes): DrawnTrial {
  const problems = designProblems(design);
  if (problems.length > 0) return { ok: false, problems };
  try {
    return { ok: true, map: layOutMap(randomiseTrial(design, seededRandom(seed)), sizes) };
  } catch (error) {
    if (error instanceof RangeError) return { ok: false, problems: [error.message] };
    throw error;
  }
}
