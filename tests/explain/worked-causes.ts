import type { CauseId, MarkRecord } from '@/lib/explain/causes';

/**
 * Worked cases for the cause finder: a record as a diary could hold it, and the causes a person of the trade would name first, with
 * the reason and where it comes from. Made up, one fact varied at a time; what is expected was written down from the reasons, not
 * from the finder's answers. The first half (`FIRST_HALF`) was written before the finder's weights were set.
 */
export interface WorkedCase {
  readonly name: string;
  /** What differs from the quiet record: see BASE in the test. */
  readonly record: Partial<MarkRecord>;
  /** The causes that must come first, in this order. */
  readonly order: readonly CauseId[];
  /** How strong the first must be. */
  readonly strength: 'likely' | 'possible';
  /** Causes that must not be called likely. */
  readonly notLikely?: readonly CauseId[];
  readonly reason: string;
  readonly source: string;
}

const PRACTICE = 'common practice, no source';

/** Silver at 2.6 days after 2.4 kg Fe/ha at the label's most, 7 days after the last where 14 are asked, dry in 25 min, hot next day. */
export const HAZE_AFTER_IRON = {
  kind: 'silver', daysAfterSpray: 2.6, ironKgPerHa: 2.4, labelMaxIronKgPerHa: 2.4, daysSinceLastIron: 7, labelMinIntervalDays: 14, nitrogenKgPerHa: 12, solutionPercentWV: 3,
  carrierLPerHa: 450, dryingMinutes: 25, airTempC: 28, maxTempNext24hC: 31, sunLeftHours: 1.5, surfactant: true, ammoniumSalt: true, tankPh: 6, grassSeason: 'cool',
} as const;

export const FIRST_HALF: readonly WorkedCase[] = [
  {
    name: 'silver haze on part of a plot three days after iron, quick drying, short interval', record: HAZE_AFTER_IRON, order: ['iron-on-leaf'], strength: 'likely', notLikely: ['surfactant-with-ammonium', 'dried-too-fast'],
    reason: 'a silvery haze some three days after a foliar spray is almost always iron that wasn’t taken up, above all where it dried quickly', source: PRACTICE,
  },
  {
    name: 'the same, but rain of 6 mm within four hours', record: { ...HAZE_AFTER_IRON, waterWithin4hMm: 6 }, order: ['heat'], strength: 'possible', notLikely: ['iron-on-leaf', 'dried-too-fast'],
    reason: 'what is rinsed off the leaf can’t dry on it', source: PRACTICE,
  },
  {
    name: 'the same haze, but no iron in the mix', record: { ...HAZE_AFTER_IRON, ironKgPerHa: 0, labelMaxIronKgPerHa: null, daysSinceLastIron: null, dryingMinutes: 8 }, order: ['dried-too-fast'], strength: 'likely', notLikely: ['iron-on-leaf', 'too-much-iron', 'iron-too-soon'],
    reason: 'without iron a pale film is salt of a solution of 3 % that dried within ten minutes', source: 'North Dakota State University 2005 (burn where a film dries fast); for haze common practice',
  },
  {
    name: 'the same haze on the unsprayed check too', record: { ...HAZE_AFTER_IRON, alsoOnCheck: true }, order: ['not-the-spray'], strength: 'likely', notLikely: ['iron-on-leaf', 'surfactant-with-ammonium', 'heat', 'dried-too-fast'],
    reason: 'what shows where nothing was sprayed isn’t the spray’s', source: 'the logic of an unsprayed check',
  },
  {
    name: 'a patch that a photo from before the spray shows', record: { ...HAZE_AFTER_IRON, seenBeforeSpray: true }, order: ['not-the-spray'], strength: 'likely', notLikely: ['iron-on-leaf', 'iron-too-soon'],
    reason: 'what was there before can’t come of it', source: 'the order of time',
  },
  {
    name: 'blackening a day after twice the label’s iron', record: { kind: 'blackening', daysAfterSpray: 1, ironKgPerHa: 5, labelMaxIronKgPerHa: 2.5, dryingMinutes: 70 }, order: ['too-much-iron'], strength: 'likely',
    reason: 'more than a few pounds of iron an acre blackens, fast', source: 'Hull 2000',
  },
  {
    name: 'blackening four days after the last iron where the label asks for fourteen, at a modest rate', record: { kind: 'blackening', daysAfterSpray: 1, ironKgPerHa: 2, labelMaxIronKgPerHa: 2.5, daysSinceLastIron: 4, labelMinIntervalDays: 14, dryingMinutes: 70 },
    order: ['iron-too-soon', 'iron-on-leaf'], strength: 'likely', notLikely: ['too-much-iron'], reason: 'light sprays are spaced about a week; two close together add up', source: 'Hull 2000; the label',
  },
  {
    name: 'scorch after 49 kg N/ha in little water and great heat', record: { kind: 'burn', daysAfterSpray: 2, ironKgPerHa: 0, nitrogenKgPerHa: 49, solutionPercentWV: 12, carrierLPerHa: 350, airTempC: 31, maxTempNext24hC: 35, grassSeason: 'cool', dryingMinutes: 22 },
    order: ['strong-solution', 'heat'], strength: 'likely', reason: 'burn grows with nitrogen rate, with less water and in heat', source: 'Agnew & Moore 1989; Wesely 1983',
  },
  {
    name: 'scorch with surfactant and ammonium sulfate in a mild, slow-drying evening', record: { kind: 'burn', daysAfterSpray: 2, ironKgPerHa: 0, solutionPercentWV: 4, surfactant: true, ammoniumSalt: true, dryingMinutes: 90, airTempC: 19, maxTempNext24hC: 22 },
    order: ['surfactant-with-ammonium'], strength: 'likely', notLikely: ['heat', 'dried-too-fast'], reason: 'the wetter film carries the ammonium salt into the leaf', source: 'common practice, no source; related: Nalewaja & Matysiak 2000',
  },
  {
    name: 'scorch at 32 °C on a warm-season lawn', record: { kind: 'burn', daysAfterSpray: 2, ironKgPerHa: 0, solutionPercentWV: 6, carrierLPerHa: 380, airTempC: 31, maxTempNext24hC: 32, grassSeason: 'warm' }, order: ['strong-solution'], strength: 'likely', notLikely: ['heat'],
    reason: 'warm-season grasses grow best at 27 to 35 °C, cool-season ones at 18 to 24', source: 'Christians, Fundamentals of Turfgrass Management (65-75 °F and 80-95 °F)',
  },
  {
    name: 'the same scorch on a cool-season lawn', record: { kind: 'burn', daysAfterSpray: 2, ironKgPerHa: 0, solutionPercentWV: 6, carrierLPerHa: 380, airTempC: 31, maxTempNext24hC: 32, grassSeason: 'cool' }, order: ['strong-solution', 'heat'], strength: 'likely',
    reason: 'above 80 to 85 °F cool-season grass uses more than it makes', source: 'University of Nebraska turf, July 2022',
  },
  {
    name: 'grey cast in a photo an hour after sunrise with wet leaves, nothing sprayed that shows', record: { kind: 'silver', daysAfterSpray: 4, ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 80, photoHoursAfterSunrise: 1, leafWetAtPhoto: true, nightMinTempC: 9, alsoOnCheck: null },
    order: ['dew-or-frost'], strength: 'likely', notLikely: ['dried-too-fast', 'dried-residue'], reason: 'dew and guttation water are grey to a camera until they dry', source: PRACTICE,
  },
  {
    name: 'grey cast after a frosty night', record: { kind: 'silver', daysAfterSpray: 3, ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 80, photoHoursAfterSunrise: 0.5, leafWetAtPhoto: true, nightMinTempC: -2 }, order: ['dew-or-frost'], strength: 'likely',
    reason: 'frost on the leaf', source: PRACTICE,
  },
  {
    name: 'grey tips a day after mowing, check too, blade not sharpened for a season', record: { kind: 'silver', daysAfterSpray: 5.5, ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 90, alsoOnCheck: true, mownDaysBefore: 1, sharpenedDaysBefore: null, mowingsKnown: 8 }, order: ['mower', 'not-the-spray'], strength: 'likely',
    reason: 'a dull blade tears the tips, which dry grey within a day or two', source: PRACTICE,
  },
  {
    name: 'blue-grey patch in a dry week: 24 mm evaporated since it was last watered', record: { kind: 'silver', daysAfterSpray: 6, ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 90, etSinceWaterMm: 24, wateringKnown: true, maxTempNext24hC: 30 }, order: ['drought'], strength: 'likely', notLikely: ['dried-residue'],
    reason: 'leaves fold and turn blue-grey when the root zone’s easy water is used up: 30 to 40 % of 150 mm of soil that holds about 15 %', source: 'FAO-56 chapter 8 (readily available water, p about 0.4 for turf; values from memory)',
  },
  {
    name: 'bleached, pale patch twelve days after a weed killer', record: { kind: 'silver', daysAfterSpray: 6, ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 90, weedControlDaysBefore: 12 }, order: ['herbicide-bleaching'], strength: 'likely',
    reason: 'herbicides that stop the pigments bleach new leaves white within one to three weeks', source: PRACTICE,
  },
  {
    name: 'nothing out of the ordinary', record: {}, order: [], strength: 'possible', notLikely: ['iron-on-leaf', 'too-much-iron', 'iron-too-soon', 'strong-solution', 'dried-too-fast', 'heat', 'surfactant-with-ammonium', 'overlap-or-wind', 'dried-residue', 'not-the-spray', 'mower', 'drought', 'dew-or-frost', 'leaf-disease', 'mites', 'herbicide-bleaching', 'hard-water-film', 'dust'],
    reason: 'a record without anything remarkable makes nothing likely', source: 'logic',
  },
];

/** A quiet silver mark, to vary: nothing about the spray speaks for it. */
const QUIET_SILVER = { kind: 'silver', daysAfterSpray: 3, ironKgPerHa: 0, solutionPercentWV: 0.5, dryingMinutes: 90 } as const;

export const SECOND_HALF: readonly WorkedCase[] = [
  {
    name: 'silver two days after iron in slow-drying, cool weather and long after the last', record: { kind: 'silver', daysAfterSpray: 2, ironKgPerHa: 2, labelMaxIronKgPerHa: 4, dryingMinutes: 90 }, order: ['iron-on-leaf'], strength: 'possible', notLikely: ['dried-too-fast', 'heat'],
    reason: 'iron was there, but little speaks for its having stayed on the leaf', source: PRACTICE,
  },
  {
    name: 'silver after iron in eight minutes of drying, nothing else', record: { kind: 'silver', daysAfterSpray: 3, ironKgPerHa: 2.5, labelMaxIronKgPerHa: 2.5, dryingMinutes: 8, solutionPercentWV: 1 }, order: ['iron-on-leaf', 'dried-too-fast'], strength: 'likely',
    reason: 'iron at the label’s most that dried within ten minutes', source: 'common practice, no source; Stiegler, Richardson & Karcher 2011 for uptake while wet',
  },
  {
    name: 'silver eight minutes after a weak spray without iron', record: { ...QUIET_SILVER, dryingMinutes: 8 }, order: ['dried-too-fast'], strength: 'possible', notLikely: ['dried-too-fast', 'iron-on-leaf'],
    reason: 'drying fast leaves nothing where nothing was dissolved', source: PRACTICE,
  },
  {
    name: 'pale film after iron sulfate met a phosphate', record: { kind: 'silver', daysAfterSpray: 1, ironKgPerHa: 1, labelMaxIronKgPerHa: 4, ironWithPhosphate: true, dryingMinutes: 80, solutionPercentWV: 1.5 }, order: ['dried-residue'], strength: 'likely',
    reason: 'iron phosphate falls out and dries as a pale film', source: 'solubility of iron phosphates',
  },
  {
    name: 'pale film after iron in a tank of pH 7.6', record: { kind: 'silver', daysAfterSpray: 0.8, ironKgPerHa: 1, labelMaxIronKgPerHa: 4, tankPh: 7.6, dryingMinutes: 80, solutionPercentWV: 1.5 }, order: ['dried-residue'], strength: 'likely',
    reason: 'iron salts rust out above about pH 7', source: PRACTICE,
  },
  {
    name: 'white specks from water of 420 mg/L with sulfate over the solubility of gypsum', record: { ...QUIET_SILVER, daysAfterSpray: 1, solutionPercentWV: 1.2, hardnessMgPerLCaCO3: 420, gypsumMmolPerL: 21 }, order: ['hard-water-film'], strength: 'likely', notLikely: ['dried-too-fast'],
    reason: 'gypsum dissolves to about 14.5 mmol/L', source: 'handbook',
  },
  {
    name: 'the same in soft water', record: { ...QUIET_SILVER, daysAfterSpray: 1, hardnessMgPerLCaCO3: 40, gypsumMmolPerL: 2 }, order: [], strength: 'possible', notLikely: ['hard-water-film'], reason: 'soft water leaves no film', source: 'US Geological Survey classes',
  },
  {
    name: 'blackened strips where a third of the plot was covered twice', record: { kind: 'blackening', daysAfterSpray: 1, ironKgPerHa: 3, labelMaxIronKgPerHa: 3, overlapShare: 0.33, windMPerS: 4.5, dryingMinutes: 70 }, order: ['overlap-or-wind', 'iron-on-leaf'], strength: 'likely',
    reason: 'strips are where passes met; iron at the label’s most is doubled there, and wind was above 8 mph', source: 'the record; pesticidestewardship.org for wind',
  },
  {
    name: 'scorch where the label’s carrier volume was not reached', record: { kind: 'burn', daysAfterSpray: 2, ironKgPerHa: 0, solutionPercentWV: 4, carrierLPerHa: 300, labelMinCarrierLPerHa: 800 }, order: ['strong-solution'], strength: 'likely', reason: 'too little water is against the label and burns', source: 'the label; Agnew & Moore 1989',
  },
  {
    name: 'grey stripes two days after wheels crossed', record: { ...QUIET_SILVER, wheelsDaysBefore: 2, trafficKnown: true, mowingsKnown: 2, mownDaysBefore: 2, sharpenedDaysBefore: null }, order: ['mower'], strength: 'possible', notLikely: ['iron-on-leaf'],
    reason: 'wheels bruise leaves, which grey; that the check is spared fits a path of wheels', source: PRACTICE,
  },
  {
    name: 'straw patch after a cut by half', record: { kind: 'burn', daysAfterSpray: 4, ironKgPerHa: 0, solutionPercentWV: 0.5, mowingsKnown: 5, mownDaysBefore: 1, sharpenedDaysBefore: 30, cutLowerShare: 0.5, alsoOnCheck: true }, order: ['mower', 'not-the-spray'], strength: 'likely',
    reason: 'more than a third at once scalps', source: 'rule of a third, extension services',
  },
  {
    name: 'grey patch in a photo at noon on a dry day is no dew', record: { ...QUIET_SILVER, photoHoursAfterSunrise: 7, leafWetAtPhoto: false, nightMinTempC: 12 }, order: [], strength: 'possible', notLikely: ['dew-or-frost'], reason: 'dew is gone by noon', source: PRACTICE,
  },
  {
    name: 'grey patch two days after 12 mm of rain is no drought', record: { ...QUIET_SILVER, etSinceWaterMm: 4, wateringKnown: true }, order: [], strength: 'possible', notLikely: ['drought'], reason: 'there is water for days yet', source: 'FAO-56 chapter 8',
  },
  {
    name: 'whitish patches where disease was seen a week before, leaves wet 13 h a day', record: { ...QUIET_SILVER, diseaseSeenDaysBefore: 7, sightingsKnown: true, wetHoursPerDay: 13, alsoOnCheck: true }, order: ['leaf-disease', 'not-the-spray'], strength: 'likely',
    reason: 'a mildew in days of long wetness doesn’t ask what was sprayed', source: 'extension texts on powdery mildew of turf',
  },
  {
    name: 'silvery patch in drought where mites were seen', record: { ...QUIET_SILVER, insectsSeenDaysBefore: 5, sightingsKnown: true, etSinceWaterMm: 26, wateringKnown: true, alsoOnCheck: null }, order: ['mites'], strength: 'likely', reason: 'stippled leaves look silver, and mites thrive in drought', source: PRACTICE,
  },
  {
    name: 'pale dust two days after topdressing', record: { ...QUIET_SILVER, dustDaysBefore: 2, rainSinceSprayMm: 0, alsoOnCheck: true }, order: ['dust', 'not-the-spray'], strength: 'likely', reason: 'sand and dust lie on the leaf until rain', source: PRACTICE,
  },
  {
    name: 'yellow patch after iron', record: { kind: 'chlorosis', daysAfterSpray: 3, ironKgPerHa: 3, labelMaxIronKgPerHa: 3, dryingMinutes: 12, airTempC: 30, maxTempNext24hC: 31 }, order: [], strength: 'possible', notLikely: ['iron-on-leaf', 'too-much-iron', 'dried-too-fast'], reason: 'iron greens; it doesn’t yellow', source: 'Yust, Wehner & Fermanian 1984',
  },
  {
    name: 'silver first seen nine days after iron, mown since', record: { ...HAZE_AFTER_IRON, daysAfterSpray: 9, clearUntilDays: 8, mownSinceSpray: true, daysSinceLastIron: 30 }, order: ['iron-on-leaf'], strength: 'likely', notLikely: ['dried-too-fast', 'dried-residue'],
    reason: 'late for a film, yet iron at the label’s most in heat stays the best guess of the record', source: PRACTICE,
  },
  {
    name: 'scorch at night with dew, a mild dose and nothing else', record: { kind: 'burn', daysAfterSpray: 2, ironKgPerHa: 0, solutionPercentWV: 1, dryingMinutes: 600, airTempC: 15, maxTempNext24hC: 20 }, order: [], strength: 'possible', notLikely: ['dried-too-fast', 'heat', 'strong-solution'], reason: 'nothing of the spray speaks for a burn', source: 'logic',
  },
];
