import { asRead } from '@/lib/units/quantity';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { doseForSolution, doseForWater } from '@/lib/water/acid-dose';
import { acidMolPerG, ACIDS } from '@/lib/water/acids';
import { doseCurve, waterDoseCurve } from '@/lib/water/dose-curve';
import { tankPH, tankSolution } from '@/lib/water/tank-ph';
import { whyAlkalinity } from '@/lib/water/why-alkalinity';

const ACID_NAMES = Object.keys(ACIDS) as (keyof typeof ACIDS)[];
const CITRIC = ACIDS['citric acid, anhydrous'];
const city = { pH: 8, alkalinityMgPerLCaCO3: 150 };

const mg = (alkalinityMgPerLCaCO3: number, target: number) => {
  const dose = doseForWater({ pH: 8, alkalinityMgPerLCaCO3 }, target, CITRIC, 1);
  return dose.kind === 'dose' ? dose.mgPerL : Number.NaN;
};

const add = (substance: string, gPerL: number) => {
  const tank = tankPH(city, [{ name: substance, gPerL, composition: [{ substance, massShare: 1 }] }]);
  return tank.kind === 'predicted' ? tank.closed.pH : Number.NaN;
};

const notes = (substance: string, gPerL: number) => {
  const tank = tankPH(city, [{ name: substance, gPerL, composition: [{ substance, massShare: 1 }] }]);
  return tank.kind === 'predicted' ? tank.notes.join(' ') : '';
};

describe('a dose put back into the water', () => {
  test('gives the target pH within 0.001, for every acid, open and closed, with ionic strength computed', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 7, max: 8.6, noNaN: true }),
        fc.double({ min: 30, max: 400, noNaN: true }),
        fc.double({ min: 4.5, max: 6.9, noNaN: true }),
        fc.constantFrom(...ACID_NAMES),
        fc.boolean(),
        (pH, alkalinityMgPerLCaCO3, target, name, open) => {
          const solution = tankSolution({ pH, alkalinityMgPerLCaCO3 }, []);
          if ('kind' in solution) throw new Error('a water was refused');
          const options = { air: open ? { kind: 'open' as const, pCO2Atm: 4.2e-4 } : { kind: 'closed' as const } };
          const dose = doseForSolution(solution, target, ACIDS[name], 15, options);
          if (dose.kind !== 'dose') throw new Error(JSON.stringify(dose));
          const productGPerL = (dose.amount.massKg * 1000) / 15;
          const curve = doseCurve(solution, ACIDS[name], productGPerL, 1, options);
          expect(curve.at(-1)!.pH).toBeCloseTo(target, 3);
        },
      ),
      { seed: 12, numRuns: 60 },
    );
  });
  test('grows with alkalinity and as the target falls', () => {
    expect(mg(100, 6)).toBeLessThan(mg(150, 6));
    expect(mg(150, 6)).toBeLessThan(mg(150, 5.5));
  });
  test('is mL only for a product with a density', () => {
    const dry = doseForWater(city, 6, CITRIC, 10);
    const liquid = doseForWater(city, 6, ACIDS['phosphoric acid 75 %'], 10);
    expect(dry.kind === 'dose' && dry.amount.volumeL).toBe(null);
    expect(liquid.kind === 'dose' && liquid.amount.volumeL).toBeGreaterThan(0);
  });
});

describe('what is refused, and at which field', () => {
  test('a target above the water', () => {
    expect(doseForWater(city, 8.5, CITRIC, 10)).toEqual({
      kind: 'refused',
      field: 'targetPH',
      sentence: "Target pH: expected at most 8, the water's own pH, got 8.5: acid can't raise pH.",
    });
  });
  test('a target no spray has', () => {
    expect(doseForWater(city, 1, CITRIC, 10)).toMatchObject({ kind: 'refused', field: 'targetPH' });
    expect(doseForWater(city, Number.NaN, CITRIC, 10)).toMatchObject({ kind: 'refused', field: 'targetPH' });
  });
  test('a target this acid cannot reach', () => {
    const strongBase = { totals: {}, strong: { sodium: 2 } };
    expect(doseForSolution(strongBase, 3, ACIDS['acetic acid 5 % (household vinegar)'], 1)).toMatchObject({
      kind: 'refused',
      field: 'targetPH',
    });
  });
  test('no volume, no acid share', () => {
    expect(() => doseForWater(city, 6, CITRIC, 0)).toThrow('volume to treat: expected a number above 0 L, got 0');
    expect(() => acidMolPerG({ ...CITRIC, massShare: 0 })).toThrow('acid mass share');
  });
  test("nothing is needed at the water's own pH", () => {
    expect(doseForWater(city, 8, CITRIC, 10).kind).toBe('none-needed');
  });
});

describe('pH of the whole tank', () => {
  const citric = { name: 'citric', gPerL: 0.2, composition: [{ substance: 'citric acid', massShare: 1 }] };
  test("with water alone is the water's own", () => {
    const plain = tankPH(city, []);
    expect(plain.kind === 'predicted' && plain.closed.pH).toBeCloseTo(8, 1);
  });
  test('falls with citric acid and drifts up as CO2 leaves', () => {
    const tank = tankPH(city, [citric]);
    if (tank.kind !== 'predicted') throw new Error('not predicted');
    expect(tank.closed.pH).toBeLessThan(6);
    expect(tank.open.pH).toBeGreaterThan(tank.closed.pH + 0.5);
  });
  test('ammonium sulfate gives up protons to bicarbonate (worked by hand), potassium phosphate brings the pH down towards its own', () => {
    // By hand at pH 6.89, I 0.22 (log γ -0.129): NH3 = 0.151 mol/L × 10^(6.89 - 9.245 - 0.129) = 0.50 mmol/L must equal
    // the CO2 gained, 3.05 mmol/L × 10^(6.22 - 6.89) / (1 + 10^(6.22 - 6.89)) = 0.53 less the 0.07 there was at pH 8.
    expect(Math.abs(add('ammonium sulfate', 10) - 6.89)).toBeLessThan(0.03);
    expect(add('monopotassium phosphate', 5)).toBeLessThan(6);
  });
  test('is unknown as soon as one composition is, and says whose', () => {
    expect(tankPH(city, [citric, { name: 'sea plant extract', gPerL: 1, composition: null }])).toEqual({
      kind: 'unknown',
      because: ['sea plant extract'],
    });
    expect(
      tankPH(city, [{ name: 'odd', gPerL: 1, composition: [{ substance: 'unobtainium', massShare: 1 }] }]),
    ).toEqual({ kind: 'unknown', because: ['odd'] });
    expect(tankPH(city, [{ name: 'none of it', gPerL: 0, composition: null }]).kind).toBe('predicted');
  });
  test('says what it leaves out: iron in alkaline water is an upper bound, strong mixes are rough, plain water has no note', () => {
    expect(notes('ferrous sulfate heptahydrate', 5)).toContain('upper bound');
    expect(notes('ammonium sulfate', 60)).toContain('0.5 mol/L');
    expect(notes('ammonia', 1)).toContain('Ammonia escapes');
    expect(notes('urea', 20)).toBe('');
  });
  test('refuses shares that add to more than the whole, and negative amounts', () => {
    expect(() =>
      tankPH(city, [
        {
          name: 'x',
          gPerL: 1,
          composition: [
            { substance: 'urea', massShare: 0.7 },
            { substance: 'water', massShare: 0.7 },
          ],
        },
      ]),
    ).toThrow('sum of mass shares in x');
    expect(() => tankPH(city, [{ ...citric, gPerL: -1 }])).toThrow('amount of citric: expected 0 or more g/L, got -1');
  });
});

describe('the sentence and the curve', () => {
  test('says why in numbers, and doses for four times the alkalinity are about four times as large', () => {
    const sentence = asRead(whyAlkalinity(8, 6), 'metric');
    const times = Number(/takes ([\d.]+) times the/.exec(sentence)?.[1]);
    expect(times).toBeGreaterThan(3.7);
    expect(times).toBeLessThan(4.3);
  });
  test('keeps the principle when there is nothing to dose', () => {
    expect(whyAlkalinity(6, 6.5)).toMatch(/alkalinity that sets the dose\.$/);
  });
  test("starts at the water's pH", () => {
    const curve = waterDoseCurve(city, CITRIC, 0.5, 10);
    if ('kind' in curve) throw new Error('refused');
    expect(curve).toHaveLength(11);
    expect(curve[0]!.pH).toBeCloseTo(8, 4);
  });
});
