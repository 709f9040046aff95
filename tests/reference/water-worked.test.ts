/**
 * Acid doses against computed cases and published tables.
 *
 * Worked cases: closed system, Davies activities at 25 °C, ionic strength held at 1.5 × alkalinity in eq/L, no ion
 * pairs; from an independent script with the same constants (2 % allowed). Published tables, quoted second-hand and not
 * re-read at the source: PT horticulture "acid injection" table (fl oz per 100 US gal for 50 ppm of alkalinity);
 * University of Massachusetts "Adjusting alkalinity with acids" (numbers from a copy); University of Florida FAWN
 * citrus factors; Kansas State Horticulture Newsletter.
 */
import { describe, expect, test } from 'vitest';
import { doseForWater, type WaterDose } from '@/lib/water/acid-dose';
import { acidAmount, ACIDS, acidMolPerG, type AcidProduct } from '@/lib/water/acids';
import { alkalinityEqPerL, bicarbonateIonicStrengthMolPerL, waterSolution } from '@/lib/water/alkalinity';
import { OUTDOOR_PCO2_ATM, SYSTEMS } from '@/lib/water/constants';
import { doseCurve } from '@/lib/water/dose-curve';
import { equilibrium } from '@/lib/water/equilibrium';
import { protonation } from '@/lib/water/speciation';
import { SUBSTANCES } from '@/lib/water/substances';
import { ATOMIC_WEIGHT } from '@/lib/units/atomic-weight';
import { US_FLUID_OUNCE_L, US_GALLON_L } from '@/lib/units/exact';

const HUNDRED_GALLONS_L = 100 * US_GALLON_L;
const HNO3: AcidProduct = ACIDS['nitric acid 67 %'];

function dose(alkalinityMgPerLCaCO3: number, pH: number, target: number, acid: AcidProduct, open = false): WaterDose {
  const result = doseForWater(
    { pH, alkalinityMgPerLCaCO3 },
    target,
    acid,
    HUNDRED_GALLONS_L,
    open ? { air: { kind: 'open', pCO2Atm: OUTDOOR_PCO2_ATM } } : {},
  );
  if (result.kind !== 'dose') throw new Error(JSON.stringify(result));
  return result;
}

/** How far off the stated figure, as a share of it. */
const off = (got: number, stated: number) => Math.abs(got / stated - 1);

/** The tables' arithmetic: acid, mol/L, that takes away so many ppm of alkalinity when each molecule gives up so many protons. */
const molPerL = (ppm: number, protons: number) => alkalinityEqPerL(ppm) / protons;
/** The same as fluid ounces of the product per 100 gal. */
const flOz = (ppm: number, name: keyof typeof ACIDS, protons: number) =>
  (acidAmount(ACIDS[name], molPerL(ppm, protons) * HUNDRED_GALLONS_L).volumeL ?? 0) / US_FLUID_OUNCE_L;
const citricTo55 = (alk: number, pH: number) => dose(alk, pH, 5.5, ACIDS['citric acid, anhydrous']).mgPerL;
const shareAt = (target: number) => dose(150, 8.0, target, ACIDS['sulfuric acid 35 %']).neutralisedShare;

describe('closed-system worked cases, within 2 %', () => {
  test.each([
    // alk, pH0, target, % neutralised, residual, H2SO4, 35 % fl oz/100 gal, H3PO4, HNO3, citric mmol/L, mg/L, g/gal
    [150, 8.0, 6.5, 38.9, 91.6, 0.584, 1.66, 0.973, 1.167, 0.443, 85.0, 0.322],
    [150, 8.0, 6.0, 67.2, 49.2, 1.008, 2.87, 1.878, 2.015, 0.866, 166.4, 0.63],
    [150, 8.3, 5.8, 76.9, 34.6, 1.153, 3.28, 2.202, 2.306, 1.047, 201.2, 0.762],
    [200, 8.0, 6.5, 38.7, 122.6, 0.774, 2.2, 1.285, 1.547, 0.584, 112.2, 0.425],
    [200, 8.0, 6.0, 67.0, 66.0, 1.339, 3.81, 2.491, 2.678, 1.145, 219.9, 0.832],
    [200, 8.5, 5.8, 77.0, 46.0, 1.539, 4.38, 2.935, 3.077, 1.39, 267.1, 1.011],
  ])(
    '%d mg/L at pH %f to %f',
    (alk, pH, target, neutralised, residual, sulfuric, flOz, phosphoric, nitric, citric, citricMg, gPerGal) => {
      const h2so4 = dose(alk, pH, target, ACIDS['sulfuric acid 35 %']);
      expect(off(h2so4.neutralisedShare * 100, neutralised)).toBeLessThanOrEqual(0.02);
      expect(off(h2so4.residualAlkalinityMgPerLCaCO3, residual)).toBeLessThanOrEqual(0.02);
      expect(off(h2so4.mmolPerL, sulfuric)).toBeLessThanOrEqual(0.02);
      expect(off((h2so4.amount.volumeL ?? 0) / US_FLUID_OUNCE_L, flOz)).toBeLessThanOrEqual(0.02);
      expect(off(dose(alk, pH, target, ACIDS['phosphoric acid 75 %']).mmolPerL, phosphoric)).toBeLessThanOrEqual(0.02);
      expect(off(dose(alk, pH, target, HNO3).mmolPerL, nitric)).toBeLessThanOrEqual(0.02);
      const anhydrous = dose(alk, pH, target, ACIDS['citric acid, anhydrous']);
      expect(off(anhydrous.mmolPerL, citric)).toBeLessThanOrEqual(0.02);
      expect(off(anhydrous.mgPerL, citricMg)).toBeLessThanOrEqual(0.02);
      expect(off((anhydrous.amount.massKg * 1000) / 100, gPerGal)).toBeLessThanOrEqual(0.02);
      expect(
        off(dose(alk, pH, target, ACIDS['citric acid, monohydrate']).mgPerL, citricMg * 1.0938),
      ).toBeLessThanOrEqual(0.02);
    },
  );

  test('open to air the same targets need 99 % and more of the alkalinity', () => {
    expect(off(dose(150, 8.3, 6.0, ACIDS['sulfuric acid 35 %'], true).mmolPerL, 1.496)).toBeLessThanOrEqual(0.02);
    expect(off(dose(150, 8.3, 6.0, ACIDS['citric acid, anhydrous'], true).mmolPerL, 1.286)).toBeLessThanOrEqual(0.02);
    expect(off(dose(200, 8.0, 6.0, ACIDS['sulfuric acid 35 %'], true).mmolPerL, 1.995)).toBeLessThanOrEqual(0.02);
    expect(off(dose(200, 8.0, 6.0, ACIDS['citric acid, anhydrous'], true).mmolPerL, 1.706)).toBeLessThanOrEqual(0.02);
    expect(dose(150, 8.3, 6.0, ACIDS['sulfuric acid 35 %'], true).neutralisedShare).toBeGreaterThan(0.99);
  });

  test('a brewing case of alkalinity 100 from pH 8.3 to 5 takes 215 mg/L citric acid (deLange 1997 inputs)', () => {
    const result = dose(100, 8.3, 5, ACIDS['citric acid, anhydrous']);
    expect(off(result.mmolPerL, 1.119)).toBeLessThanOrEqual(0.02);
    expect(off(result.mgPerL, 215)).toBeLessThanOrEqual(0.02);
    expect(off(result.neutralisedShare, 0.96)).toBeLessThanOrEqual(0.02);
  });

  test.each([
    [0.25, 6.66],
    [0.5, 6.21],
    [0.75, 5.82],
    [1, 5.38],
    [1.5, 4.58],
    [2, 4.08],
  ])('alkalinity 150, pH 8.2: %f g citric acid per gal gives pH %f', (gPerGal, pH) => {
    const molPerL = bicarbonateIonicStrengthMolPerL(150);
    const water = waterSolution({ pH: 8.2, alkalinityMgPerLCaCO3: 150 }, molPerL);
    if ('kind' in water) throw new Error(water.sentence);
    const curve = doseCurve(water, ACIDS['citric acid, anhydrous'], gPerGal / US_GALLON_L, 1, {
      ionicStrength: { kind: 'fixed', molPerL },
    });
    expect(Math.abs(curve.at(-1)!.pH - pH)).toBeLessThanOrEqual(0.02);
  });

  test.each([
    [0, 5.6],
    [50, 8.17],
    [100, 8.46],
    [150, 8.62],
    [200, 8.74],
  ])('at rest with 420 ppm CO2, alkalinity %d has pH %f', (alk, pH) => {
    const eq = alkalinityEqPerL(alk);
    const got = equilibrium(
      { totals: {}, strong: { calcium: eq / 2 } },
      { air: { kind: 'open', pCO2Atm: 4.2e-4 }, ionicStrength: { kind: 'fixed', molPerL: 1.5 * eq } },
    );
    expect(Math.abs(got.pH - pH)).toBeLessThanOrEqual(0.01);
  });
});

describe('ideal fractions (textbook arithmetic at zero ionic strength, tolerance 5e-4)', () => {
  test.each([
    [5, 0.0426],
    [5.8, 0.2191],
    [6, 0.3078],
    [6.352, 0.5],
    [6.5, 0.5843],
    [7, 0.8161],
    [8.3, 0.9798],
  ])('bicarbonate share at pH %f is %f', (pH, share) => {
    expect(Math.abs((protonation(SYSTEMS.carbonate, pH, 0).shares[1] ?? 0) - share)).toBeLessThanOrEqual(5e-4);
  });
  test.each([
    [5.8, 2.12],
    [6, 2.236],
    [6.5, 2.547],
    [7, 2.799],
  ])('citrate at pH %f carries %f charges', (pH, charge) => {
    expect(Math.abs(-protonation(SYSTEMS.citrate, pH, 0).meanCharge - charge)).toBeLessThanOrEqual(5e-4);
  });
  test.each([
    [5.8, 1.038],
    [6.5, 1.167],
    [7, 1.388],
  ])('phosphate at pH %f carries %f charges', (pH, charge) => {
    expect(Math.abs(-protonation(SYSTEMS.phosphate, pH, 0).meanCharge - charge)).toBeLessThanOrEqual(5e-4);
  });
  test.each([
    [7, 0.00566],
    [8.3, 0.1019],
  ])('free ammonia share at pH %f is %f', (pH, share) => {
    const nh3 = protonation(SYSTEMS.ammonia, pH, 0).shares[1] ?? 0;
    expect(Math.abs(nh3 - share)).toBeLessThanOrEqual(pH === 7 ? 5e-6 : 5e-5);
  });
});

describe('published strong-acid tables, within 2 %', () => {
  test('PT horticulture: 1.42 fl oz of 35 % sulfuric acid per 100 gal takes 50 ppm and adds 16.1 ppm S', () => {
    expect(off(flOz(50, 'sulfuric acid 35 %', 2), 1.42)).toBeLessThanOrEqual(0.02);
    expect(off(1000 * molPerL(50, 2) * ATOMIC_WEIGHT.S, 16.1)).toBeLessThanOrEqual(0.02);
  });
  test('PT horticulture: 0.87 fl oz of 67 % nitric acid takes 50 ppm (and 14.3 ppm N, 2 % high: 1.000 meq/L of N is 14.0)', () => {
    expect(off(flOz(50, 'nitric acid 67 %', 1), 0.87)).toBeLessThanOrEqual(0.02);
    expect(off(1000 * molPerL(50, 1) * ATOMIC_WEIGHT.N, 14.3)).toBeLessThanOrEqual(0.025);
  });
  test('UMass: 1 fl oz of 93 % sulfuric acid per 100 gal takes 136.0 ppm and adds 43.6 ppm S', () => {
    expect(off(1 / flOz(1, 'sulfuric acid 93 %', 2), 136.0)).toBeLessThanOrEqual(0.02);
    expect(off(1000 * molPerL(136, 2) * ATOMIC_WEIGHT.S, 43.6)).toBeLessThanOrEqual(0.02);
  });
  test('FAWN: factor 8.7 for 93 % sulfuric acid is mL per 100 gal for 80 % of 1 meq/L', () => {
    const normality = 2 * acidMolPerG(ACIDS['sulfuric acid 93 %']) * 1835;
    expect(off((0.8 * HUNDRED_GALLONS_L) / normality, 8.7)).toBeLessThanOrEqual(0.02);
  });
});

describe('published weak-acid tables, within 2 to 6 %, with the charge at the pH one ends at', () => {
  test('PT horticulture: 0.94 fl oz of 75 % phosphoric acid, 2.3 % off at 1.10 protons', () => {
    expect(off(flOz(50, 'phosphoric acid 75 %', 1.1), 0.94)).toBeLessThanOrEqual(0.03);
  });
  test('PT horticulture: 1.78 fl oz of 50 % citric acid, 1.2 % off at 2.2 protons', () => {
    expect(off(flOz(50, 'citric acid 50 %', 2.2), 1.78)).toBeLessThanOrEqual(0.02);
  });
  test('UMass: 1 fl oz of 75 % phosphoric acid takes 45.0 ppm, computed 47.2', () => {
    expect(off(50 / flOz(50, 'phosphoric acid 75 %', 1), 45.0)).toBeLessThanOrEqual(0.06);
  });
});

describe('published and wrong: kept so that nobody mends the code towards them', () => {
  test('citric pK3 of 5.602 (one web table): it would give a 10 % smaller dose, and disagrees with 6.40 in handbooks', () => {
    const wrong = protonation({ z: 0, pK: [3.128, 4.761, 5.602] }, 6, 0).meanCharge;
    const right = protonation(SYSTEMS.citrate, 6, 0).meanCharge;
    expect(right).toBeCloseTo(-2.236, 3);
    expect(wrong / right).toBeGreaterThan(1.1);
    expect(SYSTEMS.citrate.pK[2]).not.toBeCloseTo(5.602, 1);
  });
  test('FAWN factor 6.8 for 85 % phosphoric acid counts three protons where one is given up: a third of the dose', () => {
    const molPerL = acidMolPerG(ACIDS['phosphoric acid 85 %']) * 1685;
    expect(off((0.8 * HUNDRED_GALLONS_L) / (3 * molPerL), 6.8)).toBeLessThanOrEqual(0.02);
    const charge = -protonation(SYSTEMS.phosphate, 5.8, bicarbonateIonicStrengthMolPerL(150)).meanCharge;
    const right = (0.8 * HUNDRED_GALLONS_L) / (charge * molPerL);
    expect(right / 6.8).toBeGreaterThan(2.7);
  });
  test('UMass copy: 25.6 ppm P per fl oz of 75 % phosphoric acid is 12 % low (29.2), and a specific gravity of 1.381 is not 75 %', () => {
    const massG = US_FLUID_OUNCE_L * 1580;
    const p = (massG * acidMolPerG(ACIDS['phosphoric acid 75 %']) * ATOMIC_WEIGHT.P * 1000) / HUNDRED_GALLONS_L;
    expect(off(p, 29.2)).toBeLessThanOrEqual(0.02);
    expect(p / 25.6).toBeGreaterThan(1.1);
  });
  test('Web rule "pH 6.5 neutralises half": it is 38 to 40 %', () => {
    for (const alk of [100, 150, 200]) {
      const { neutralisedShare } = dose(alk, 8.0, 6.5, ACIDS['sulfuric acid 35 %']);
      expect(neutralisedShare).toBeGreaterThan(0.38);
      expect(neutralisedShare).toBeLessThan(0.4);
    }
  });
  test('Kansas State, pH 8 water and 2 oz citric acid per 100 gal to about 5.5: true only near alkalinity 90', () => {
    const twoOunces = 149.8;
    expect(citricTo55(90, 8.0) / twoOunces).toBeCloseTo(1, 1);
    expect(off(citricTo55(100, 8.3), 166)).toBeLessThanOrEqual(0.02);
    expect(off(citricTo55(150, 8.3), 247)).toBeLessThanOrEqual(0.02);
    expect(off(citricTo55(200, 8.3), 327)).toBeLessThanOrEqual(0.02);
  });
  test('NCSU rule "neutralise 80 %" is 76 to 77 % at pH 5.8, 67 to 68 % at 6.0, 87 % at 5.5', () => {
    expect(off(shareAt(5.8), 0.765)).toBeLessThanOrEqual(0.02);
    expect(off(shareAt(6.0), 0.675)).toBeLessThanOrEqual(0.02);
    expect(off(shareAt(5.5), 0.87)).toBeLessThanOrEqual(0.02);
  });
});

describe('formula weights', () => {
  test('1 meq/L is 50.04 mg/L as CaCO3 and monohydrate citric acid weighs 1.0938 times the anhydrous', () => {
    expect(0.001 / alkalinityEqPerL(1)).toBeCloseTo(50.04, 1);
    expect(
      SUBSTANCES['citric acid monohydrate'].molarMassGPerMol / SUBSTANCES['citric acid'].molarMassGPerMol,
    ).toBeCloseTo(1.0938, 4);
  });
});
