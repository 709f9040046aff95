import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { expectPositive } from '@/lib/expect';
import { ATOMIC_WEIGHT } from '@/lib/units/atomic-weight';
import { CACO3_MG_PER_MEQ } from '@/lib/units/concentration';
import { significant } from '@/lib/units/display';
import { type Check } from './check';
import {
  type Chelate,
  CHELATES,
  chelateOf,
  holdsSubstance,
  ironOf,
  isUsed,
  type MixItem,
  nutrientsOfMix,
} from './mix-item';
import { P_IN_P2O5, totalNPercent } from './nutrients';
import { quantity } from '@/lib/units/quantity';

export interface MixtureConditions {
  readonly carrierLPerHa: number;
  /** Predicted or measured pH of the mix, or null when unknown. */
  readonly tankPH: number | null;
  /** Calcium and magnesium of the water, mg/L as CaCO3, or null when unknown. */
  readonly hardnessMgPerLCaCO3: number | null;
}

/** Gypsum dissolves to about 2.5 g/L, 14.5 mmol/L each of calcium and sulfate (handbook, from memory). */
export const GYPSUM_MMOL_PER_L = 14.5;
/** Below this pH iron(II) salts keep for a day; above, iron oxidises and falls out within hours (common practice). */
export const IRON_SALT_PH = 6;
/**
 * Up to which pH each chelate keeps its iron. EDTA 6 to 6.5 in growers' notes (7.0 in Argo & Fisher, taken at the
 * lower), DTPA 7.5 and EDDHA 9.0 in Argo & Fisher 2002, Understanding pH management for container-grown crops, as a
 * growers' training page tables them; HEDTA between EDTA and DTPA (common practice, no source). A chelate nobody named
 * is held to the weakest.
 */
export const CHELATE_PH: Readonly<Record<Chelate, number>> = { EDTA: 6.5, HEDTA: 7, DTPA: 7.5, EDDHA: 9, unsaid: 6.5 };
const CHELATE_SOURCE =
  "Argo & Fisher 2002, as a growers' training page tables it (EDTA at the lower figure of growers' notes; HEDTA common practice, no source)";
/** Humic acid falls out in acid; below about pH 4 visibly (common practice). */
export const HUMIC_PH = 4;

/**
 * Whether the products suffer each other and the water: acid and chlorine, oxidisers, what falls out of solution, what
 * stains, and the phosphorus rules to ask about. A jar test comes before any new mix.
 * @throws RangeError for a carrier volume of 0 or less
 */
export function mixtureChecks(items: readonly MixItem[], conditions: MixtureConditions): readonly Check[] {
  expectPositive('carrier volume', conditions.carrierLPerHa, 'L/ha');
  const used = items.filter(isUsed);
  return [
    ...chlorineChecks(used),
    ...peroxideChecks(used),
    ...ironWithPhosphate(used, conditions),
    ...calciumChecks(used, conditions),
    ...ironInHighPH(used, conditions),
    ...humicInAcid(used, conditions),
    ...groundRules(used),
  ];
}

const names = (items: readonly MixItem[]) => items.map((item) => item.name).join(', ');
const NO_NUMBER = { value: null, limit: null, unit: '' } as const;

function mmolPerL(kgPerHa: number, gPerMol: number, carrierLPerHa: number): number {
  return (kgPerHa * 1e6) / carrierLPerHa / gPerMol;
}

/** Chlorine bleach by what it is made of or, since its label is rarely typed in, by its name. */
function isBleach(item: MixItem): boolean {
  if (holdsSubstance(item, 'hypochlorite') || holdsSubstance(item, 'chlorine bleach')) return true;
  return (
    /bleach|hypochlor|\bchlorin(e\b|at)|isocyanur|\bpool shock\b|dichlor\b|trichlor\b/i.test(item.name) &&
    !/chlorine[- ]?free|bleach[- ]?free|non-?chlorine|dechlor|oxygen bleach|peroxide/i.test(item.name)
  );
}

/** An acid by its kind, its composition or its name; humic, fulvic and amino acids are sold alkaline or neutral. */
function isAcid(item: MixItem): boolean {
  return (
    item.mixingKind === 'acid' ||
    holdsSubstance(item, ' acid') ||
    /\bvinegar\b|\bacid\b/i.test(item.name.replaceAll(/(humic|fulvic|amino)\W+acids?/gi, ''))
  );
}

/** Urea or ammonium, or nitrogen that nobody said to be nitrate. */
function holdsReducedNitrogen(item: MixItem): boolean {
  return (
    (item.analysis.ammoniacalNPercent ?? 0) > 0 ||
    (item.analysis.ureaNPercent ?? 0) > 0 ||
    totalNPercent(item.analysis) > (item.analysis.nitrateNPercent ?? 0) + 0.2 || // printed figures are rounded
    holdsSubstance(item, 'urea') ||
    holdsSubstance(item, 'ammoni') ||
    /ammoni|\burea\b/i.test(item.name)
  );
}

/** Hydrogen peroxide and what gives it off, by composition or by name. */
function isPeroxide(item: MixItem): boolean {
  return (
    ['peroxide', 'percarbonate', 'peracetic', 'peroxyacetic'].some((word) => holdsSubstance(item, word)) ||
    /peroxid|percarbonate|peracetic|peroxyacetic|oxygen bleach/i.test(item.name)
  );
}

function peroxideChecks(used: readonly MixItem[]): readonly Check[] {
  const peroxides = used.filter(isPeroxide);
  if (peroxides.length === 0) return [];
  const nitrogen = used.filter((item) => !isPeroxide(item) && holdsReducedNitrogen(item));
  const irons = used.filter((item) => ironOf(item) !== 'none');
  const checks: Check[] = [];
  if (nitrogen.length > 0) {
    checks.push({
      code: 'oxidiser-with-ammonium',
      level: 'never',
      subject: names(peroxides),
      ...NO_NUMBER,
      source: `${COMMON_PRACTICE}; safety data sheets of peroxides keep them from urea, ammonium and other reducing matter`,
      sentence: `${names(peroxides)} with ${names(nitrogen)}: an oxidiser on urea or ammonium; dried together they feed a fire.`,
      fix: 'Never in one tank, nor in a tank that held the other and was not rinsed.',
    });
  }
  if (irons.length > 0) {
    checks.push({
      code: 'peroxide-with-iron',
      level: 'caution',
      subject: names(peroxides),
      ...NO_NUMBER,
      source: 'chemistry of iron(II) with hydrogen peroxide (textbook, from memory)',
      sentence: `${names(peroxides)} with ${names(irons)}: iron breaks peroxide down with gas and heat, rusts, and the radicals bleach leaves.`,
      fix: 'Spray them on different days.',
    });
  }
  return checks;
}

function chlorineChecks(used: readonly MixItem[]): readonly Check[] {
  const bleach = used.filter(isBleach);
  if (bleach.length === 0) return [];
  const acids = used.filter(isAcid);
  const ammonium = used.filter(holdsReducedNitrogen);
  const checks: Check[] = [];
  if (acids.length > 0) {
    checks.push({
      code: 'acid-with-chlorine',
      level: 'never',
      subject: names(bleach),
      ...NO_NUMBER,
      source: 'New Jersey Poison Information and Education System',
      sentence: `${names(bleach)} with ${names(acids)} gives off chlorine gas.`,
      fix: 'Never in one tank, nor in a tank that held the other and was not rinsed.',
    });
  }
  if (ammonium.length > 0) {
    checks.push({
      code: 'oxidiser-with-ammonium',
      level: 'never',
      subject: names(bleach),
      ...NO_NUMBER,
      source: `${COMMON_PRACTICE}; safety data sheets of chlorine bleach`,
      sentence: `${names(bleach)} with ${names(ammonium)} gives off chloramines.`,
      fix: 'Never in one tank, nor in a tank that held the other and was not rinsed.',
    });
  }
  return checks;
}

function ironWithPhosphate(used: readonly MixItem[], { carrierLPerHa }: MixtureConditions): readonly Check[] {
  const phosphates = used.filter((item) => (item.analysis.p2o5Percent ?? 0) > 0 || holdsSubstance(item, 'phosph'));
  const irons = used.filter((item) => ironOf(item) !== 'none');
  if (phosphates.length === 0 || irons.length === 0) return [];
  const salts = irons.filter((item) => ironOf(item) === 'salt');
  const all = nutrientsOfMix(used).kgPerHa;
  const mayFall = Math.min(
    mmolPerL(nutrientsOfMix(salts).kgPerHa.Fe, ATOMIC_WEIGHT.Fe, carrierLPerHa),
    mmolPerL(all.P, ATOMIC_WEIGHT.P, carrierLPerHa),
  );
  const salt = salts.length > 0;
  return [
    {
      code: 'iron-with-phosphate',
      level: salt ? 'caution' : 'note',
      subject: names(irons),
      value: mayFall,
      limit: 0,
      unit: 'mmol/L',
      source: COMMON_PRACTICE,
      sentence: salt
        ? `${names(salts)} with ${names(phosphates)}: iron phosphate can fall out and clog the nozzle.`
        : `${names(irons)} with ${names(phosphates)}: a chelate usually holds; look at a jar of the mix after half an hour.`,
      fix: salt ? 'Spray them on different days, or use chelated iron; jar test first.' : 'Jar test first.',
    },
  ];
}

function calciumChecks(
  used: readonly MixItem[],
  { carrierLPerHa, hardnessMgPerLCaCO3, tankPH }: MixtureConditions,
): readonly Check[] {
  const { kgPerHa } = nutrientsOfMix(used);
  const fromProducts = mmolPerL(kgPerHa.Ca, ATOMIC_WEIGHT.Ca, carrierLPerHa);
  const calcium = fromProducts + (hardnessMgPerLCaCO3 ?? 0) / (2 * CACO3_MG_PER_MEQ);
  const sulfate = mmolPerL(kgPerHa.S, ATOMIC_WEIGHT.S, carrierLPerHa);
  const phosphate = mmolPerL(kgPerHa.P, ATOMIC_WEIGHT.P, carrierLPerHa);
  const checks: Check[] = [];
  if (calcium > 0 && sulfate > 0) {
    const mean = Math.sqrt(calcium * sulfate);
    const over = mean > GYPSUM_MMOL_PER_L;
    checks.push({
      code: 'calcium-with-sulfate',
      level: over ? 'caution' : fromProducts > 0 ? 'note' : 'clear',
      subject: '',
      value: mean,
      limit: GYPSUM_MMOL_PER_L,
      unit: 'mmol/L (geometric mean)',
      source: 'solubility of gypsum, handbook value from memory; salts in the mix raise it',
      sentence: `Calcium and sulfate in the mix stand at ${significant((mean / GYPSUM_MMOL_PER_L) * 100, 2)} % of where gypsum begins to fall out.`,
      fix: over || fromProducts > 0 ? 'Leave calcium for another day; never both in one concentrate.' : '',
    });
  }
  if (calcium > 0 && phosphate > 0) {
    // Water of 50 mg/L hardness (0.5 mmol/L) is enough to cloud a phosphate mix that isn't acid.
    const risky = Math.min(calcium, phosphate) > 0.5 && (tankPH === null || tankPH > 6);
    checks.push({
      code: 'calcium-with-phosphate',
      level: fromProducts > 0 || risky ? 'caution' : 'clear',
      subject: '',
      value: Math.min(calcium, phosphate),
      limit: 0.5,
      unit: 'mmol/L',
      source: COMMON_PRACTICE,
      sentence: `Calcium meets phosphate${tankPH === null ? '' : ` at pH ${significant(tankPH, 2)}`}: calcium phosphate falls out above about pH 6.`,
      fix:
        fromProducts > 0 || risky
          ? 'Bring the water below pH 6 before the phosphate, and leave calcium products for another day.'
          : '',
    });
  }
  return checks;
}

const rankOf = (chelate: Chelate): number => (chelate === 'unsaid' ? -1 : CHELATES.indexOf(chelate));

/** The chelate of a mix that lets go of its iron first. */
const weakestChelate = (irons: readonly MixItem[]): Chelate =>
  irons
    .flatMap((item) => chelateOf(item) ?? [])
    .sort((a, b) => CHELATE_PH[a] - CHELATE_PH[b] || rankOf(a) - rankOf(b))[0] ?? 'unsaid';

/** Up to which pH a mix keeps its iron; null without iron. */
export function ironHoldsToPh(items: readonly MixItem[]): number | null {
  const irons = items.filter((item) => ironOf(item) !== 'none');
  if (irons.length === 0) return null;
  return irons.some((item) => ironOf(item) === 'salt') ? IRON_SALT_PH : CHELATE_PH[weakestChelate(irons)];
}

function ironInHighPH(used: readonly MixItem[], { tankPH }: MixtureConditions): readonly Check[] {
  const irons = used.filter((item) => ironOf(item) !== 'none');
  if (irons.length === 0) return [];
  const salts = irons.some((item) => ironOf(item) === 'salt');
  const weakest = weakestChelate(irons);
  const limit = salts ? IRON_SALT_PH : CHELATE_PH[weakest];
  const held = weakest === 'unsaid' ? 'a chelate of a kind nobody said, taken as EDTA,' : weakest;
  const shared = {
    code: 'iron-in-high-ph' as const,
    subject: names(irons),
    limit,
    unit: 'pH',
    source: salts ? COMMON_PRACTICE : CHELATE_SOURCE,
  };
  if (tankPH === null) {
    return [
      {
        ...shared,
        level: 'note',
        value: null,
        sentence: `The pH of the mix is not known; ${salts ? 'iron salts want' : weakest === 'unsaid' ? 'a chelate of a kind nobody said wants' : `iron ${weakest} wants`} it below ${limit}.`,
        fix: 'Measure the pH of a jar of the mix and enter it.',
      },
    ];
  }
  const high = tankPH > limit;
  return [
    {
      ...shared,
      level: high ? 'caution' : 'clear',
      value: tankPH,
      sentence: `The mix is at pH ${tankPH.toFixed(1)}; ${salts ? 'iron salts rust out of it' : `${held} lets iron go`} above ${limit}.`,
      fix: high ? 'Acidify the water first, and spray at once after mixing.' : '',
    },
  ];
}

function humicInAcid(used: readonly MixItem[], { tankPH }: MixtureConditions): readonly Check[] {
  const humics = used.filter((item) => item.mixingKind === 'humic or seaweed');
  if (humics.length === 0) return [];
  const acids = used.filter((item) => item.mixingKind === 'acid');
  const acid = tankPH === null ? acids.length > 0 : tankPH < HUMIC_PH;
  if (!acid) return [];
  return [
    {
      code: 'humic-in-acid',
      level: 'caution',
      subject: names(humics),
      value: tankPH,
      limit: HUMIC_PH,
      unit: 'pH',
      source: COMMON_PRACTICE,
      sentence: `${names(humics)} in an acid mix${tankPH === null ? ' of unknown pH' : ` of pH ${tankPH.toFixed(1)}`}: humic acid falls out and clogs the nozzle.`,
      fix: 'Jar test first; less acid, or spray the extract by itself.',
    },
  ];
}

function groundRules(used: readonly MixItem[]): readonly Check[] {
  const { kgPerHa } = nutrientsOfMix(used);
  const checks: Check[] = [];
  if (kgPerHa.Fe > 0) {
    checks.push({
      code: 'hard-surfaces',
      level: 'note',
      subject: '',
      value: kgPerHa.Fe,
      limit: null,
      unit: 'kg Fe/ha',
      source: 'Golf Course Management, August 2019, p. 66',
      sentence: 'Iron stains concrete, brick and paint.',
      fix: 'Shield edges, and rinse what falls on hard surfaces back onto the grass at once.',
    });
  }
  if (kgPerHa.P > 0) {
    checks.push({
      code: 'phosphorus-rules',
      level: 'note',
      subject: '',
      value: kgPerHa.P / P_IN_P2O5,
      limit: null,
      unit: 'kg P2O5/ha',
      source: 'state and local law; eleven US states limited phosphorus on lawns by 2012 (Connecticut OLR 2012-R-0076)',
      sentence: `The mix brings ${quantity('nutrientRate', kgPerHa.P / P_IN_P2O5)} of P2O5; many places allow phosphorus on lawns only after a soil test or for new grass.`,
      fix: 'Ask the county extension service what applies here.',
    });
  }
  return checks;
}
