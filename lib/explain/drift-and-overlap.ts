import { draft, known, round, some, strong } from '@/lib/explain/draft';
import type { CauseDraft, MarkRecord } from '@/lib/explain/causes';
import { DEFAULT_LIMITS } from '@/lib/weather/window-limits';
import { quantity } from '@/lib/units/quantity';
import { RECORD, DRIFT } from './spray-sources';

/** Upper end of the range advised where a label names none. */
export const WINDY_M_PER_S = DEFAULT_LIMITS.goodWindMPerS;

/** Whole passes overlap a little on most plots; from here on it is much. Our own line, no source. */
const MUCH_OVERLAP = 0.2;

export function overlapOrWind(r: MarkRecord): CauseDraft {
  const d = draft();
  if (known(r.overlapShare, 'overlap of passes', d)) {
    if (r.overlapShare > MUCH_OVERLAP)
      d.forIt.push(strong(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice by whole passes`, RECORD));
    else if (r.overlapShare > 0.05)
      d.forIt.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice by whole passes`, RECORD));
    else d.against.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice`, RECORD));
  }
  if (known(r.windMPerS, 'wind', d)) {
    if (r.windMPerS > WINDY_M_PER_S) {
      d.forIt.push(
        some(
          `wind of ${quantity('wind', r.windMPerS)}, above ${quantity('wind', WINDY_M_PER_S)}, moves the spray`,
          DRIFT,
        ),
      );
      d.whatIf.push({
        id: 'calmer-hour',
        text: `An hour with wind below ${quantity('wind', WINDY_M_PER_S)}`,
        change: { maxWindMPerS: WINDY_M_PER_S },
      });
    } else
      d.against.push(
        some(`wind of ${quantity('wind', r.windMPerS)} was within ${quantity('wind', WINDY_M_PER_S)}`, DRIFT),
      );
  }
  return d;
}
