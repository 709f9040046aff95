import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { expectPositive } from '@/lib/expect';
import { quantity } from '@/lib/units/quantity';
import { toKgPerHa, toLPerHa } from '@/lib/units/rate';
import { toC } from '@/lib/units/temperature';
import { type Check, type CheckLevel } from './check';
import { isUsed, type MixItem, nutrientsOfMix } from './mix-item';
import type { SaltLoad } from './solution';

/** Best rate for colour on Kentucky bluegrass, as chelate: Yust, Wehner & Fermanian 1984, Agron J 76:934-938. */
export const IRON_BEST_KG_PER_HA = 2.2;
/** 3 lb Fe/acre, the "few pounds" from which turf turns dark, taken as three: Hull 2000. */
export const IRON_DARKENS_KG_PER_HA = toKgPerHa({ value: 3, unit: 'lb/acre' });
/** Up to here more iron still gave more colour on a high-pH soil: 1.6 oz Fe/1000 ft² (University of Nebraska 2018). */
export const IRON_MOST_USEFUL_KG_PER_HA = 4.9;
/** Leaf dieback above 15 lb Fe/acre on Kentucky bluegrass: extension text, seen in a copy only. */
export const IRON_DIEBACK_KG_PER_HA = toKgPerHa({ value: 15, unit: 'lb/acre' });
/**
 * The higher rate of the foliar uptake work, 0.25 lb N/1000 ft²: Stiegler, Richardson & Karcher 2011, Crop Sci 51:1253.
 */
export const FOLIAR_N_STUDIED_KG_PER_HA = toKgPerHa({ value: 0.25, unit: 'lb/1000ft2' });
/** Urea burned at 1, 2 and 4 gal/1000 ft² of carrier at 1 lb N/1000 ft²: Agnew & Moore 1989, Iowa. */
export const FOLIAR_N_BURNED_KG_PER_HA = toKgPerHa({ value: 1, unit: 'lb/1000ft2' });
/** 1 and 2 gal/1000 ft²: the least that is usual. */
export const CARRIER_LEAST_L_PER_HA = toLPerHa({ value: 1, unit: 'us-gal/1000ft2' });
const CARRIER_USUAL_L_PER_HA = toLPerHa({ value: 2, unit: 'us-gal/1000ft2' });
/** 80 and 85 °F: the trade's limits for iron. */
export const HEAT_CAUTION_C = toC({ value: 80, unit: 'degF' });
export const HEAT_STOP_IRON_C = toC({ value: 85, unit: 'degF' });
/** 2 and 5 % of dissolved salt. */
export const SALT_NOTE_G_PER_L = 20;
export const SALT_CAUTION_G_PER_L = 50;

export interface BurnConditions {
  readonly carrierLPerHa: number;
  /** Warmest air temperature of the spray and the day after it, or null when not known. */
  readonly airTempC: number | null;
  readonly salt: SaltLoad;
  /** From where on it is warm and hot for this grass, °C; the trade's limits for cool-season grass unless said. */
  readonly heat?: { readonly warmC: number; readonly hotC: number } | undefined;
}

function graded(value: number, note: number, caution: number): CheckLevel {
  if (value > caution * (1 + 1e-9)) return 'caution';
  return value > note * (1 + 1e-9) ? 'note' : 'clear';
}

/**
 * Whether the mix may burn: iron and nitrogen rate, salt in the film, carrier volume, heat, surfactant with an ammonium
 * salt.
 * @throws RangeError for a carrier volume of 0 or less
 */
export function burnChecks(items: readonly MixItem[], conditions: BurnConditions): readonly Check[] {
  expectPositive('carrier volume', conditions.carrierLPerHa, 'L/ha');
  const used = items.filter(isUsed);
  const { kgPerHa } = nutrientsOfMix(used);
  return [
    ...(kgPerHa.Fe > 0 ? [ironCheck(kgPerHa.Fe)] : []),
    ...(kgPerHa.N > 0 ? [nitrogenCheck(kgPerHa.N)] : []),
    saltCheck(conditions.salt),
    carrierCheck(conditions.carrierLPerHa),
    ...heatCheck(
      conditions.airTempC,
      kgPerHa.Fe > 0,
      conditions.heat ?? { warmC: HEAT_CAUTION_C, hotC: HEAT_STOP_IRON_C },
    ),
    ...surfactantCheck(used),
  ];
}

function ironCheck(ironKgPerHa: number): Check {
  const level = graded(ironKgPerHa, IRON_BEST_KG_PER_HA, IRON_MOST_USEFUL_KG_PER_HA);
  const dieback = ironKgPerHa > IRON_DIEBACK_KG_PER_HA;
  const limit = dieback
    ? IRON_DIEBACK_KG_PER_HA
    : level === 'caution'
      ? IRON_MOST_USEFUL_KG_PER_HA
      : IRON_BEST_KG_PER_HA;
  const against = dieback
    ? `leaf dieback was reported above ${quantity('nutrientRate', limit)}`
    : `${quantity('nutrientRate', IRON_BEST_KG_PER_HA)} gave the best colour, and up to ${quantity('nutrientRate', IRON_MOST_USEFUL_KG_PER_HA)} was useful on high-pH soil`;
  return {
    code: 'iron-rate',
    level,
    subject: '',
    value: ironKgPerHa,
    limit,
    unit: 'kg Fe/ha',
    source: dieback
      ? 'extension text on Kentucky bluegrass, seen in a copy'
      : 'Yust, Wehner & Fermanian 1984, Agron J 76:934-938; University of Nebraska turf 2018',
    sentence: `Iron ${quantity('nutrientRate', ironKgPerHa)}: ${against}; more blackens leaves, sooner in heat and with nitrogen.`,
    fix: level === 'clear' ? '' : 'Lower the iron rate and come back in a week rather than doubling it.',
  };
}

function nitrogenCheck(nitrogenKgPerHa: number): Check {
  const burned = nitrogenKgPerHa >= FOLIAR_N_BURNED_KG_PER_HA * (1 - 1e-9);
  const level = burned ? 'caution' : graded(nitrogenKgPerHa, FOLIAR_N_STUDIED_KG_PER_HA, Number.POSITIVE_INFINITY);
  return {
    code: 'foliar-nitrogen-rate',
    level,
    subject: '',
    value: nitrogenKgPerHa,
    limit: burned ? FOLIAR_N_BURNED_KG_PER_HA : FOLIAR_N_STUDIED_KG_PER_HA,
    unit: 'kg N/ha',
    source: burned ? 'Agnew & Moore 1989, Iowa' : 'Stiegler, Richardson & Karcher 2011, Crop Sci 51:1253',
    sentence: burned
      ? `Nitrogen ${quantity('nutrientRate', nitrogenKgPerHa)} on the leaf: ${quantity('nutrientRate', FOLIAR_N_BURNED_KG_PER_HA)} as urea burned at ${[1, 2, 4].map((times) => quantity('liquidRate', times * CARRIER_LEAST_L_PER_HA)).join(', ')} of carrier.`
      : `Nitrogen ${quantity('nutrientRate', nitrogenKgPerHa)} on the leaf: uptake was studied at ${quantity('nutrientRate', 0.4 * FOLIAR_N_STUDIED_KG_PER_HA)} and ${quantity('nutrientRate', FOLIAR_N_STUDIED_KG_PER_HA)}, and a smaller share goes in at the higher rate.`,
    fix: level === 'clear' ? '' : 'Split it over two sprays, or water it in.',
  };
}

function saltCheck(salt: SaltLoad): Check {
  const level = graded(salt.saltGPerL, SALT_NOTE_G_PER_L, SALT_CAUTION_G_PER_L);
  const left = salt.leftOut.length === 0 ? '' : `; no index for ${salt.leftOut.join(', ')}`;
  return {
    code: 'salt-strength',
    level,
    subject: '',
    value: salt.saltGPerL,
    limit: level === 'caution' ? SALT_CAUTION_G_PER_L : SALT_NOTE_G_PER_L,
    unit: 'g/L',
    source: COMMON_PRACTICE,
    sentence: `The mix holds ${quantity('strength', salt.saltGPerL)} of dissolved material and draws on the leaf’s water like ${quantity('strength', salt.sodiumNitrateGPerL)} of sodium nitrate (salt index, ${salt.edition}${left}).`,
    fix: level === 'clear' ? '' : 'More carrier water at the same rate per area, or a lower rate.',
  };
}

function carrierCheck(carrierLPerHa: number): Check {
  const level =
    carrierLPerHa < CARRIER_LEAST_L_PER_HA * (1 - 1e-9)
      ? 'caution'
      : carrierLPerHa < CARRIER_USUAL_L_PER_HA * (1 - 1e-9)
        ? 'note'
        : 'clear';
  return {
    code: 'carrier-volume',
    level,
    subject: '',
    value: carrierLPerHa,
    limit: level === 'caution' ? CARRIER_LEAST_L_PER_HA : CARRIER_USUAL_L_PER_HA,
    unit: 'L/ha',
    source: `${COMMON_PRACTICE}; published trials used half as much to five times as much`,
    sentence: `Carrier ${quantity('liquidRate', carrierLPerHa)}: ${quantity('liquidRate', CARRIER_LEAST_L_PER_HA)} to ${quantity('liquidRate', CARRIER_USUAL_L_PER_HA)} is the usual least for feeding through the leaf.`,
    fix: level === 'clear' ? '' : 'Walk slower, use a larger nozzle, or go over it twice at half the rate.',
  };
}

function heatCheck(
  airTempC: number | null,
  iron: boolean,
  { warmC, hotC }: { warmC: number; hotC: number },
): readonly Check[] {
  if (airTempC === null) return [];
  const level: CheckLevel = airTempC > warmC || (iron && airTempC > hotC) ? 'caution' : 'clear';
  const limit = iron && airTempC > hotC ? hotC : warmC;
  return [
    {
      code: 'heat',
      level,
      subject: '',
      value: airTempC,
      limit,
      unit: '°C',
      source: COMMON_PRACTICE,
      sentence: `${quantity('temperature', airTempC)} within a day of the spray; the trade stays below ${quantity('temperature', warmC)}${iron ? `, and gives no iron above ${quantity('temperature', hotC)}` : ''}.`,
      fix: level === 'clear' ? '' : 'Wait for a cooler day, or spray in the evening so that the film dries slowly.',
    },
  ];
}

function surfactantCheck(used: readonly MixItem[]): readonly Check[] {
  const surfactants = used.filter((item) => item.mixingKind === 'surfactant');
  const ammonium = used.filter((item) => (item.analysis.ammoniacalNPercent ?? 0) > 0);
  if (surfactants.length === 0 || ammonium.length === 0) return [];
  const ammoniacalKgPerHa = ammonium.reduce(
    (sum, item) => sum + ((item.dose.massKgPerHa ?? 0) * (item.analysis.ammoniacalNPercent ?? 0)) / 100,
    0,
  );
  return [
    {
      code: 'surfactant-with-ammonium',
      level: 'caution',
      subject: surfactants.map((item) => item.name).join(', '),
      value: ammoniacalKgPerHa,
      limit: 0,
      unit: 'kg ammoniacal N/ha',
      source: `${COMMON_PRACTICE}; related: Nalewaja & Matysiak 2000, Weed Technol 14:740 (crabgrass, no turf trial found)`,
      sentence: `${surfactants.map((item) => item.name).join(', ')} with ${ammonium.map((item) => item.name).join(', ')}: the wetter film carries the salt into the leaf and may scorch.`,
      fix: 'Leave the surfactant out, or try a small strip first and wait three days.',
    },
  ];
}
