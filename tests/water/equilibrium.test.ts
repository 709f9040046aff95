import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { log10Activity } from '@/lib/water/activity';
import { ACIDS } from '@/lib/water/acids';
import { waterSolution } from '@/lib/water/alkalinity';
import { SYSTEM_NAMES } from '@/lib/water/constants';
import { doseCurve } from '@/lib/water/dose-curve';
import { chargeAtPH, equilibrium } from '@/lib/water/equilibrium';
import { hardnessClass, hardnessMgPerLCaCO3 } from '@/lib/water/hardness';
import { SUBSTANCE_NAMES, SUBSTANCES, withSubstance } from '@/lib/water/substances';

const water = fc.record({
  pH: fc.double({ min: 6, max: 9, noNaN: true }),
  alkalinityMgPerLCaCO3: fc.double({ min: 20, max: 500, noNaN: true }),
});
const anySolution = fc
  .tuple(
    fc.dictionary(fc.constantFrom(...SYSTEM_NAMES), fc.double({ min: 0, max: 0.2, noNaN: true })),
    fc.double({ min: -0.1, max: 0.1, noNaN: true }),
  )
  .map(([totals, charge]) => ({ totals, strong: charge >= 0 ? { sodium: charge } : { chloride: -charge } }));

describe('textbook solutions at 25 °C', () => {
  const bare = { totals: {}, strong: {} };
  test('pure water is neutral at pH 7.00', () => {
    expect(equilibrium(bare).pH).toBeCloseTo(6.9975, 3);
  });
  test('0.1 mol/L hydrochloric acid has pH 1.1 (handbooks print 1.1; 1.09 by measurement)', () => {
    expect(Math.abs(equilibrium(withSubstance(bare, 'hydrochloric acid', 0.1)).pH - 1.1)).toBeLessThan(0.02);
  });
  test('0.1 mol/L acetic acid has pH 2.88 (handbooks print 2.9)', () => {
    expect(Math.abs(equilibrium(withSubstance(bare, 'acetic acid', 0.1)).pH - 2.88)).toBeLessThan(0.02);
  });
  test('0.1 mol/L ammonia has pH 11.1 (handbooks print 11.1)', () => {
    expect(Math.abs(equilibrium(withSubstance(bare, 'ammonia', 0.1)).pH - 11.12)).toBeLessThan(0.03);
  });
  test('0.025 + 0.025 mol/kg phosphate is the pH 6.86 buffer standard (6.865 at 25 °C, NIST; Davies is 0.03 off)', () => {
    const buffer = withSubstance(withSubstance(bare, 'monopotassium phosphate', 0.025), 'dipotassium phosphate', 0.025);
    expect(Math.abs(equilibrium(buffer).pH - 6.865)).toBeLessThan(0.05);
  });
  test('neutral salts and urea leave water at its own pH within 0.01', () => {
    for (const name of ['urea', 'potassium nitrate', 'non-ionic surfactant'] as const) {
      expect(Math.abs(equilibrium(withSubstance(bare, name, 0.05)).pH - 7)).toBeLessThan(0.01);
    }
  });
  test('Davies: log10 activity of a univalent ion at 0.1 mol/L is -0.107 (0.78, Stumm & Morgan)', () => {
    expect(10 ** log10Activity(1, 0.1)).toBeCloseTo(0.782, 3);
  });
});

describe('the solver', () => {
  test('net charge falls as pH rises, whatever is dissolved and whether open or closed', () => {
    fc.assert(
      fc.property(
        anySolution,
        fc.double({ min: 0, max: 14, noNaN: true }),
        fc.double({ min: 0.001, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        fc.boolean(),
        (solution, pH, up, I, open) => {
          const air = open ? { kind: 'open' as const, pCO2Atm: 4.2e-4 } : { kind: 'closed' as const };
          expect(chargeAtPH(solution, pH + up, I, air)).toBeLessThan(chargeAtPH(solution, pH, I, air));
        },
      ),
      { seed: 3 },
    );
  });
  test('charge is balanced at the pH given, within 1e-9 of all that is dissolved', () => {
    fc.assert(
      fc.property(anySolution, (solution) => {
        const { pH, ionicStrengthMolPerL } = equilibrium(solution);
        expect(pH).toBeGreaterThan(-1);
        expect(pH).toBeLessThan(15);
        // How many eq/L move the pH by one.
        const at = (move: number) => chargeAtPH(solution, pH + move, ionicStrengthMolPerL);
        const slope = (at(-0.005) - at(0.005)) / 0.01;
        expect(Math.abs(chargeAtPH(solution, pH, ionicStrengthMolPerL))).toBeLessThan(1e-6 * (1 + slope));
      }),
      { seed: 5 },
    );
  });
  test('a water closed to air has the pH its report gives', () => {
    fc.assert(
      fc.property(water, (report) => {
        const molPerL = 0.004;
        const solution = waterSolution(report, molPerL);
        if ('kind' in solution) return;
        expect(equilibrium(solution, { ionicStrength: { kind: 'fixed', molPerL } }).pH).toBeCloseTo(report.pH, 6);
      }),
      { seed: 6 },
    );
  });
  test('pH falls with every step of dose, for every acid, fixed and computed ionic strength, open and closed', () => {
    fc.assert(
      fc.property(
        water,
        fc.constantFrom(...(Object.keys(ACIDS) as (keyof typeof ACIDS)[])),
        fc.boolean(),
        fc.boolean(),
        fc.double({ min: 0.05, max: 20, noNaN: true }),
        (report, name, fixed, open, most) => {
          const solution = waterSolution(report, 0.004);
          if ('kind' in solution) return;
          const curve = doseCurve(solution, ACIDS[name], most, 8, {
            ionicStrength: fixed ? { kind: 'fixed', molPerL: 0.004 } : { kind: 'computed' },
            air: open ? { kind: 'open', pCO2Atm: 4.2e-4 } : { kind: 'closed' },
          });
          for (let step = 1; step < curve.length; step += 1) expect(curve[step]!.pH).toBeLessThan(curve[step - 1]!.pH);
        },
      ),
      { seed: 9, numRuns: 60 },
    );
  });
  test('marks what lies beyond the Davies fit', () => {
    const strong = withSubstance({ totals: {}, strong: {} }, 'ammonium sulfate', 0.3);
    expect(equilibrium(strong)).toMatchObject({ extrapolated: true });
    expect(equilibrium(withSubstance({ totals: {}, strong: {} }, 'ammonium sulfate', 0.05))).toMatchObject({
      extrapolated: false,
    });
  });
  test('neither reads nor changes what it was handed', () => {
    const solution = Object.freeze({
      totals: Object.freeze({ carbonate: 0.002 }),
      strong: Object.freeze({ calcium: 0.001 }),
    });
    expect(equilibrium(solution)).toEqual(equilibrium(solution));
  });
});

describe('substances', () => {
  // Formula weights as handbooks print them (CRC Handbook of Chemistry and Physics; from memory to the second decimal).
  // prettier-ignore
  test.each([
    ['ammonium sulfate', 132.14], ['urea', 60.06], ['potassium nitrate', 101.1], ['potassium sulfate', 174.26], ['monopotassium phosphate', 136.09],
    ['monoammonium phosphate', 115.03], ['magnesium sulfate heptahydrate', 246.47], ['ferrous sulfate heptahydrate', 278.01],
    ['ferrous sulfate monohydrate', 169.92], ['sodium ferric EDTA', 367.05], ['citric acid', 192.12], ['citric acid monohydrate', 210.14],
    ['phosphoric acid', 97.99], ['sulfuric acid', 98.08], ['nitric acid', 63.01], ['acetic acid', 60.05], ['ammonia', 17.03],
  ] as const)('%s weighs %f g/mol', (name, gPerMol) => {
    expect(Math.abs(SUBSTANCES[name].molarMassGPerMol - gPerMol)).toBeLessThan(0.03);
  });
  test('each is electrically neutral: some pH balances it alone', () => {
    for (const name of SUBSTANCE_NAMES) {
      const { pH } = equilibrium(withSubstance({ totals: {}, strong: {} }, name, 0.01));
      expect(pH).toBeGreaterThan(1);
      expect(pH).toBeLessThan(13);
    }
  });
});

describe('waters that cannot be', () => {
  test('pH 10 with no alkalinity is refused at the alkalinity, with what it would take', () => {
    expect(waterSolution({ pH: 10, alkalinityMgPerLCaCO3: 0 }, 0)).toEqual({
      kind: 'refused',
      field: 'alkalinityMgPerLCaCO3',
      sentence: 'Alkalinity: expected at least 6 mg/L as CaCO3 for water of pH 10, got 0.',
    });
  });
  test('rain of pH 5.6 without alkalinity can be: its acid is carbonic, 10^-5.6 (1 + 10^(6.35 - 5.6)) mol/L by hand', () => {
    const rain = waterSolution({ pH: 5.6, alkalinityMgPerLCaCO3: 0 }, 0);
    if ('kind' in rain) throw new Error(rain.sentence);
    expect(rain.totals.carbonate! / (10 ** -5.6 * (1 + 10 ** 0.75))).toBeCloseTo(1, 2);
  });
  test('figures outside nature are refused by name', () => {
    expect(() => waterSolution({ pH: 14, alkalinityMgPerLCaCO3: 100 }, 0)).toThrow(
      'water pH: expected a number from 4 to 11, got 14',
    );
    expect(() => waterSolution({ pH: 8, alkalinityMgPerLCaCO3: -1 }, 0)).toThrow(
      'alkalinity: expected a number from 0 to 2000 mg/L as CaCO3, got -1',
    );
    expect(() => waterSolution({ pH: Number.NaN, alkalinityMgPerLCaCO3: 100 }, 0)).toThrow(RangeError);
  });
});

describe('hardness', () => {
  test('is 2.497 Ca + 4.118 Mg (Standard Methods 2340 B)', () => {
    expect(hardnessMgPerLCaCO3(1, 0)).toBeCloseTo(2.497, 3);
    expect(hardnessMgPerLCaCO3(0, 1)).toBeCloseTo(4.118, 3);
  });
  test('has four classes', () => {
    expect([60, 61, 121, 181].map(hardnessClass)).toEqual(['soft', 'moderately hard', 'hard', 'very hard']);
  });
});
