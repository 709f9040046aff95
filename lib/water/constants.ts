/**
 * Dissociation constants at 25 °C and zero ionic strength, as pK of each step, and the weak acids and bases they belong
 * to. Everything here holds at 25 °C only; a tank at 10 °C differs by up to 0.15 in pK1 of carbonic acid.
 *
 * Sources: carbonate system Plummer & Busenberg 1982 Geochim Cosmochim Acta 46:1011 (digits from memory; textbook
 * tables print 6.35 and 10.33, LibreTexts appendix E1); citric 3.13/4.76/6.40 (LibreTexts E1; third digit from memory);
 * phosphoric 2.148/7.198/12.35 (LibreTexts E1 and standard handbooks print 2.15/7.20/12.35); HSO4- 1.99, NH4+ 9.245,
 * acetic 4.756 (LibreTexts E1, which prints 9.25; third digit of NH4+ from memory, Bates & Pinching 1950). One web
 * table prints citric pK3 as 5.602, which is wrong: tests/reference holds the reason.
 */

/** −log10 of the ion product of water. */
export const PKW = 13.995;
/** −log10 of Henry's constant of CO2, mol/L/atm. */
export const PKH_CO2 = 1.468;
/** CO2 in outdoor air, atm: 420 parts per million by volume. */
export const OUTDOOR_PCO2_ATM = 4.2e-4;

/** An acid or base that gives up protons in steps; `z` is the charge with every proton on. */
export interface ProtonSystem {
  readonly z: number;
  readonly pK: readonly number[];
}

/**
 * The systems that hold protons in a spray tank. Iron(II) is the aquo ion's first hydrolysis (9.5; from memory, Baes &
 * Mesmer 1976). The iron(III) EDTA complex takes up a hydroxide with pK 7.5 (from memory).
 */
export const SYSTEMS = {
  carbonate: { z: 0, pK: [6.352, 10.329] },
  citrate: { z: 0, pK: [3.128, 4.761, 6.396] },
  phosphate: { z: 0, pK: [2.148, 7.198, 12.35] },
  sulfate: { z: -1, pK: [1.99] },
  ammonia: { z: 1, pK: [9.245] },
  acetate: { z: 0, pK: [4.756] },
  'iron(II)': { z: 2, pK: [9.5] },
  'iron(III) EDTA': { z: -1, pK: [7.5] },
} as const satisfies Record<string, ProtonSystem>;
export type SystemName = keyof typeof SYSTEMS;
export const SYSTEM_NAMES = Object.keys(SYSTEMS) as readonly SystemName[];

/** Ions whose charge doesn't depend on pH, and that charge. */
export const STRONG_IONS = {
  sodium: 1,
  potassium: 1,
  calcium: 2,
  magnesium: 2,
  zinc: 2,
  manganese: 2,
  chloride: -1,
  nitrate: -1,
} as const;
export type StrongIon = keyof typeof STRONG_IONS;
