import type { Cause } from '@/lib/explain/causes';
import { MARK_KINDS } from '@/lib/photo/marks/kind';
import { ironOnLeaf, tooMuchIron, ironTooSoon } from './iron-causes';
import { strongSolution, driedTooFast, heat, surfactantWithAmmonium } from './burn-causes';
import { overlapOrWind } from './drift-and-overlap';
import { driedResidue, hardWaterFilm } from './residue-causes';

const RUB =
  'Wet a finger and rub a leaf: a film wipes off, a burnt leaf stays. Rinse half of the patch and look again tomorrow.';

const RINSE_HALF =
  'Rinse half of the patch with plain water and look again tomorrow: what lies on the leaf goes, what went in stays.';

/** The causes that lie in the spray itself. */
// prettier-ignore
export const SPRAY_CAUSES: readonly Cause[] = [
  { cause: 'iron-on-leaf', title: 'Iron left on the leaf', kinds: MARK_KINDS, look: RUB, weigh: ironOnLeaf },
  { cause: 'too-much-iron', title: 'Too much iron', kinds: MARK_KINDS, look: 'Look whether the whole sprayed ground is dark and where passes met darkest; it pales within a week or two.', weigh: tooMuchIron },
  { cause: 'iron-too-soon', title: 'Iron too soon after the last', kinds: MARK_KINDS, look: 'Compare with ground that had only one of the two sprays.', weigh: ironTooSoon },
  { cause: 'strong-solution', title: 'Too strong a solution, too little water', kinds: MARK_KINDS, look: 'Look at the leaf tips and edges through a lens: salt burns them first. A hard edge along a pass speaks for it.', weigh: strongSolution },
  { cause: 'dried-too-fast', title: 'Dried too fast', kinds: MARK_KINDS, look: RINSE_HALF, weigh: driedTooFast },
  { cause: 'heat', title: 'Heat', kinds: MARK_KINDS, look: 'Look whether the sunniest, driest ground is worst, and shade is spared.', weigh: heat },
  { cause: 'surfactant-with-ammonium', title: 'Surfactant with an ammonium salt', kinds: MARK_KINDS, look: 'Look through a lens: spots where drops lay, and edges drawn in, speak for it. A strip without the surfactant tells.', weigh: surfactantWithAmmonium },
  { cause: 'overlap-or-wind', title: 'Overlap or drift', kinds: MARK_KINDS, look: 'Measure from the plot’s edge: stripes at the spacing of your passes speak for overlap, a fringe on the lee side for drift.', weigh: overlapOrWind },
  { cause: 'dried-residue', title: 'A film of something that fell out in the tank', kinds: ['silver', 'other'], look: `${RUB} Look for a deposit in the tank and on the nozzle’s screen.`, weigh: driedResidue },
  { cause: 'hard-water-film', title: 'Hard water or gypsum dried on', kinds: ['silver', 'other'], look: 'Put a drop of vinegar on a white speck: lime foams, gypsum and iron do not. Let a spoonful of the water dry on a dark plate.', weigh: hardWaterFilm },
];
