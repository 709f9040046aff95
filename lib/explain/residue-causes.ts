import { GYPSUM_MMOL_PER_L } from '@/lib/spray/mixture-checks';
import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { draft, round, some, strong } from '@/lib/explain/draft';
import type { CauseDraft, MarkRecord } from '@/lib/explain/causes';
import { quantity } from '@/lib/units/quantity';
import { hardnessClass } from '@/lib/water/hardness';
import { weighRinse, weighFilmAge } from './film-on-leaf';

/** Above it a plain iron salt falls out before it is sprayed; a strong chelate holds longer. Common practice, no source. */
const RUSTS_OUT_PH = 7;

export function driedResidue(r: MarkRecord): CauseDraft {
  const d = draft();
  d.forIt.push(some('the mark is pale and grey but not brown, as a film on the leaf shows', COMMON_PRACTICE));
  if (r.ironWithPhosphate === true)
    d.forIt.push(
      strong(
        'iron sulfate and phosphate in one tank form a solid',
        'solubility of iron phosphates; jar test advised, common practice, no source',
      ),
    );
  else if (r.ironWithPhosphate === null) d.unknown.push('whether iron sulfate met a phosphate in the tank');
  const limit = Math.max(RUSTS_OUT_PH, r.ironHoldsToPh ?? RUSTS_OUT_PH);
  if (r.tankPh !== null && r.tankPh > limit && (r.ironKgPerHa ?? 0) > 0)
    d.forIt.push(strong(`tank pH ${round(r.tankPh)}: iron falls out of solution above ${limit}`, COMMON_PRACTICE));
  else if (r.tankPh === null) d.unknown.push('tank pH');
  if (r.solutionPercentWV !== null && r.solutionPercentWV < 1 && r.ironWithPhosphate !== true)
    d.against.push(some(`the solution was weak, ${round(r.solutionPercentWV)} % w/v`, COMMON_PRACTICE));
  weighRinse(r, d);
  weighFilmAge(r, d);
  return d;
}

export function hardWaterFilm(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.hardnessMgPerLCaCO3 === null && r.gypsumMmolPerL === null) {
    d.notWeighed = "the water's hardness is not on record";
    return d;
  }
  if (r.gypsumMmolPerL !== null && r.gypsumMmolPerL > GYPSUM_MMOL_PER_L)
    d.forIt.push(
      strong(
        `the tank holds ${round(r.gypsumMmolPerL / GYPSUM_MMOL_PER_L, 1)} times the calcium and sulfate at which gypsum falls out`,
        'solubility of gypsum, handbook value from memory',
      ),
    );
  if (r.hardnessMgPerLCaCO3 !== null) {
    const text = `water with a hardness of ${quantity('alkalinity', r.hardnessMgPerLCaCO3)}`;
    const hard = hardnessClass(r.hardnessMgPerLCaCO3);
    if (hard === 'very hard')
      d.forIt.push(
        some(
          `${text}, very hard: it dries white`,
          'US Geological Survey classes, limits from memory; that it shows on leaves is common practice',
        ),
      );
    else if (hard === 'soft')
      d.against.push(strong(`${text}, soft`, 'US Geological Survey classes, limits from memory'));
    else d.against.push(some(`${text}, not very hard`, 'US Geological Survey classes, limits from memory'));
  }
  weighRinse(r, d);
  weighFilmAge(r, d);
  return d;
}
