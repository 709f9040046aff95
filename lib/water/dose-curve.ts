import { expectPositive, expectWhole, type Refusal } from '@/lib/expect';
import { acidMolPerG, type AcidProduct } from './acids';
import { bicarbonateIonicStrengthMolPerL, type Solution, type Water, waterSolution } from './alkalinity';
import { equilibrium, type EquilibriumOptions } from './equilibrium';
import { withSubstance } from './substances';

/** One point of the curve: product in the mix, and the pH it gives. */
export interface DosePoint {
  readonly productGPerL: number;
  readonly pH: number;
}

/** pH of a solution with so much of an acid product in it. */
function pHWithAcid(
  solution: Solution,
  acid: AcidProduct,
  productGPerL: number,
  options: EquilibriumOptions = {},
): number {
  return equilibrium(withSubstance(solution, acid.substance, productGPerL * acidMolPerG(acid)), options).pH;
}

/**
 * pH against dose, from none to `mostGPerL` in equal steps; falls with every step.
 * @param mostGPerL above 0, product per L of mix
 * @param steps 1 to 500
 * @throws RangeError outside those ranges
 */
export function doseCurve(
  solution: Solution,
  acid: AcidProduct,
  mostGPerL: number,
  steps: number,
  options: EquilibriumOptions = {},
): readonly DosePoint[] {
  expectPositive('largest dose', mostGPerL, 'g/L');
  expectWhole('steps', steps, 1, 500);
  return Array.from({ length: steps + 1 }, (_, step) => {
    const productGPerL = (mostGPerL * step) / steps;
    return { productGPerL, pH: pHWithAcid(solution, acid, productGPerL, options) };
  });
}

/** The curve of plain water, with ionic strength held at 1.5 × alkalinity. @throws RangeError as `doseCurve` */
export function waterDoseCurve(
  water: Water,
  acid: AcidProduct,
  mostGPerL: number,
  steps: number,
): readonly DosePoint[] | Refusal {
  const molPerL = bicarbonateIonicStrengthMolPerL(water.alkalinityMgPerLCaCO3);
  const solution = waterSolution(water, molPerL);
  return 'kind' in solution
    ? solution
    : doseCurve(solution, acid, mostGPerL, steps, { ionicStrength: { kind: 'fixed', molPerL } });
}
