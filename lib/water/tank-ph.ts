import { expectInRange, expectNotNegative, type Refusal } from '@/lib/expect';
import { type Solution, type Water, waterIonicStrengthMolPerL, waterSolution } from './alkalinity';
import { OUTDOOR_PCO2_ATM } from './constants';
import { CLOSED, type Equilibrium, equilibrium, type IonicStrength } from './equilibrium';
import { isSubstance, SUBSTANCES, withSubstance } from './substances';

/** A share by mass of a product; shares below 1 in all leave the rest as water or inert matter. */
export interface SubstanceShare {
  readonly substance: string;
  readonly massShare: number;
}

/** A product in the tank: how much, and what it is made of. `null` means that nobody has said. */
export interface TankItem {
  readonly name: string;
  readonly gPerL: number;
  readonly composition: readonly SubstanceShare[] | null;
}

export type TankPH =
  | {
      readonly kind: 'predicted';
      /** As mixed: no CO2 has left yet. */
      readonly closed: Equilibrium;
      /** Where it drifts once CO2 has left for the outdoor air: hours later, or at once in fine droplets. */
      readonly open: Equilibrium;
      /** What the closed figure was worked out from; further acid can be dosed into it. */
      readonly solution: Solution;
      /** What this mix holds that the figures leave out, a sentence each. */
      readonly notes: readonly string[];
    }
  | {
      readonly kind: 'unknown';
      /**
       * Products whose composition isn't known, or holds a substance not listed: their pH must be measured in a jar.
       */
      readonly because: readonly string[];
    };

export interface TankPHOptions {
  readonly ionicStrength?: IonicStrength;
  /** Default 420 ppm outdoors. */
  readonly pCO2Atm?: number;
}

/**
 * Water and products as one solution, or the names of the products that can't be put in.
 * @throws RangeError for a negative amount or a mass share outside 0 to 1
 */
export function tankSolution(
  water: Water,
  items: readonly TankItem[],
): Solution | Refusal | { readonly kind: 'unknown'; readonly because: readonly string[] } {
  const base = waterSolution(water, waterIonicStrengthMolPerL(water));
  if ('kind' in base) return base;
  let solution: Solution = base;
  const because: string[] = [];
  for (const item of items) {
    expectNotNegative(`amount of ${item.name}`, item.gPerL, 'g/L');
    if (item.gPerL === 0) continue;
    if (
      item.composition === null ||
      item.composition.length === 0 ||
      !item.composition.every((part) => isSubstance(part.substance))
    ) {
      because.push(item.name);
      continue;
    }
    const shares = item.composition.reduce(
      (sum, part) => sum + expectInRange(`mass share in ${item.name}`, part.massShare, 0, 1, ''),
      0,
    );
    expectInRange(`sum of mass shares in ${item.name}`, shares, 0, 1.001, '');
    for (const { substance, massShare } of item.composition) {
      if (isSubstance(substance))
        solution = withSubstance(
          solution,
          substance,
          (item.gPerL * massShare) / SUBSTANCES[substance].molarMassGPerMol,
        );
    }
  }
  return because.length > 0 ? { kind: 'unknown', because } : solution;
}

/**
 * Predicted pH of the whole tank at 25 °C, closed and open to air; `unknown` as soon as one product's composition is
 * unknown. Limits: no ion pairs, no solids coming out, no oxidation of iron, no loss of ammonia; `notes` names those
 * that matter here.
 * @throws RangeError for a water, amount or share outside its range
 */
export function tankPH(water: Water, items: readonly TankItem[], options: TankPHOptions = {}): TankPH | Refusal {
  const solution = tankSolution(water, items);
  if ('kind' in solution) return solution;
  const strength = options.ionicStrength ? { ionicStrength: options.ionicStrength } : {};
  const closed = equilibrium(solution, { air: CLOSED, ...strength });
  return {
    kind: 'predicted',
    closed,
    notes: notesOn(solution, closed),
    open: equilibrium(solution, { air: { kind: 'open', pCO2Atm: options.pCO2Atm ?? OUTDOOR_PCO2_ATM }, ...strength }),
    solution,
  };
}

/** Above this pH dissolved iron(II) rusts within hours and frees acid (common practice, no source). */
const IRON_KEEPS_BELOW_PH = 6;

function notesOn(solution: Solution, closed: Equilibrium): readonly string[] {
  const { totals, strong } = solution;
  const notes: string[] = [];
  if ((totals['iron(II)'] ?? 0) > 0) {
    notes.push(
      closed.pH > IRON_KEEPS_BELOW_PH
        ? 'An upper bound: at this pH iron rusts out of the mix and frees acid as it does, two protons an atom; acidify the water first.'
        : 'An upper bound: ferrous sulfate as sold holds some free acid and ferric iron.',
    );
  }
  if ((strong.calcium ?? 0) > 0 && (totals.phosphate ?? 0) > 0 && closed.pH > 6)
    notes.push('Calcium phosphate may fall out at this pH, which lowers it.');
  if ((totals.ammonia ?? 0) > 0 && closed.pH > 8.5)
    notes.push('Ammonia escapes at this pH, which lowers it; the open figure counts carbon dioxide only.');
  if (closed.extrapolated)
    notes.push('Stronger than the activity equation is fitted for (0.5 mol/L): take the figure as rough.');
  return notes;
}
