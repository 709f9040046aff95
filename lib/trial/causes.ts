/**
 * What may have made a mark: the evidence for and against each cause, weighed in words. It never says what is the cause:
 * a record holds what was written down, and a patch can have a reason nobody wrote down.
 */

/** Kind of mark as the photo shows it. */
export type MarkKind = 'silver' | 'blackening' | 'burn' | 'chlorosis' | 'other';

/** The record behind a mark. Everything may be null where it was not written down. */
export interface MarkRecord {
  readonly kind: MarkKind;
  /** Days from the spray to the first photo that shows the mark. */
  readonly daysAfterSpray: number;
  /**
   * Days from the spray to the last photo that shows the plot without the mark: it arose after that. Null when no photo lies
   * between spray and first sight, so that it may have arisen at any time since the spray.
   */
  readonly clearUntilDays?: number | null;
  /** True when a photo from before the spray shows the same patch. */
  readonly seenBeforeSpray: boolean | null;
  /** True when the unsprayed check shows the like. */
  readonly alsoOnCheck: boolean | null;
  readonly ironKgPerHa: number | null;
  readonly labelMaxIronKgPerHa: number | null;
  readonly daysSinceLastIron: number | null;
  readonly labelMinIntervalDays: number | null;
  readonly nitrogenKgPerHa: number | null;
  /** All dissolved fertiliser in the tank (% weight by volume). */
  readonly solutionPercentWV: number | null;
  readonly carrierLPerHa: number | null;
  readonly labelMinCarrierLPerHa: number | null;
  /** Estimated minutes until the film was dry. */
  readonly dryingMinutes: number | null;
  readonly airTempC: number | null;
  /** Highest temperature in the 24 h after the spray. */
  readonly maxTempNext24hC: number | null;
  readonly windMPerS: number | null;
  readonly surfactant: boolean | null;
  readonly ammoniumSalt: boolean | null;
  /** Hours of sun left after spraying; 0 at or after sunset. */
  readonly sunLeftHours: number | null;
  /** Iron sulfate together with a phosphate in the tank. */
  readonly ironWithPhosphate: boolean | null;
  readonly tankPh: number | null;
  /** Share of the plot covered twice (0-1), where it is known. */
  readonly overlapShare: number | null;
  /** Rain or irrigation in the first 4 h (mm). */
  readonly rainWithin4hMm: number | null;
}

export type CauseId = 'too-much-iron' | 'iron-too-soon' | 'strong-solution' | 'dried-too-fast' | 'heat' | 'surfactant-with-ammonium' | 'overlap-or-wind' | 'dried-residue' | 'not-the-spray';

/** How strongly the record points to a cause. */
export type Strength = 'likely' | 'possible' | 'unlikely';

/** One piece of evidence with its numbers and where the yardstick comes from. */
export interface Evidence {
  readonly text: string;
  /** Author and year, or 'common practice, no source'. */
  readonly source: string;
  readonly weight: 'strong' | 'some';
}

/** A different way to spray, for the drying and rate models to put numbers to. */
export interface WhatIf {
  readonly id: 'twice-the-carrier' | 'half-the-iron' | 'wait-for-interval' | 'later-in-the-evening' | 'cooler-day' | 'without-surfactant' | 'calmer-hour' | 'half-the-strength';
  readonly text: string;
  /** What to change in the plan; a factor multiplies what was used. */
  readonly change: Readonly<Partial<Record<'carrierFactor' | 'ironFactor' | 'strengthFactor' | 'waitDays' | 'hoursLater' | 'maxTempC' | 'maxWindMPerS' | 'surfactantFactor', number>>>;
}

export interface CauseFinding {
  readonly cause: CauseId;
  readonly title: string;
  readonly strength: Strength;
  /** One sentence; says "likely", never "is". */
  readonly sentence: string;
  readonly evidenceFor: readonly Evidence[];
  readonly evidenceAgainst: readonly Evidence[];
  /** What the record does not hold and would decide more. */
  readonly unknown: readonly string[];
  readonly whatIf: readonly WhatIf[];
}

/** The findings, strongest first, or why there are none. */
export type CauseReport =
  | { readonly kind: 'findings'; readonly findings: readonly CauseFinding[]; readonly sentences: readonly string[] }
  | { readonly kind: 'too-late'; readonly sentences: readonly string[] };

/** A mark is linked to a spray for this many days. Common practice, no source. */
export const LINK_DAYS = 10;

const PRACTICE = 'common practice, no source';
const HULL = 'Hull 2000 (more than a few lb Fe per acre darkens; heat and nitrogen add to it)';
const DIEBACK = 'extension text seen in a copy only (leaf dieback of Kentucky bluegrass above 15 lb Fe per acre)';
const DILUTION = 'Agnew & Moore 1989; Wesely 1983 (burn grows with nitrogen rate and with less water)';
const MECHANISM = 'North Dakota State University 2005 (wheat: burn when a warm film dries within the hour)';
const UPTAKE = 'Henning, Mulvaney & Branham 2013; Stiegler, Richardson & Karcher 2011 (most leaf uptake in the first hours)';
const SALT_SURFACTANT = 'related only: Nalewaja & Matysiak 2000 (ammonium salt and surfactant raised uptake of a herbicide in crabgrass); for turf fertiliser common practice, no source';

/** 3 lb Fe per acre, the "few pounds" of Hull 2000 taken as three. */
const DARKENING_IRON_KG_PER_HA = 3.36;
/** 15 lb Fe per acre. */
const DIEBACK_IRON_KG_PER_HA = 16.8;
/** 1 US gal per 1000 ft2: common lower end for foliar feeding. */
const LOW_CARRIER_L_PER_HA = 407;
const SHORT_DRYING_MINUTES = 15;
const LONG_DRYING_MINUTES = 60;
/** 85 F and 80 F. */
const HOT_C = 29.4;
const WARM_C = 26.7;
/** 8 mph: upper end of the range advised where a label names none. */
const WINDY_M_PER_S = 3.6;
const STRONG_SOLUTION_PERCENT = 5;
const MILD_SOLUTION_PERCENT = 2;

const round = (value: number, digits = 1): string => String(Number(value.toFixed(digits)));

interface Draft {
  readonly forIt: Evidence[];
  readonly against: Evidence[];
  readonly unknown: string[];
  readonly whatIf: WhatIf[];
}

const draft = (): Draft => ({ forIt: [], against: [], unknown: [], whatIf: [] });
const strong = (text: string, source: string): Evidence => ({ text, source, weight: 'strong' });
const some = (text: string, source: string): Evidence => ({ text, source, weight: 'some' });
const known = (value: number | null, name: string, d: Draft): value is number => {
  if (value === null) d.unknown.push(name);
  return value !== null;
};

function tooMuchIron(r: MarkRecord): Draft {
  const d = draft();
  if (known(r.ironKgPerHa, 'iron rate', d)) {
    const rate = `${round(r.ironKgPerHa, 2)} kg Fe/ha`;
    if (r.labelMaxIronKgPerHa !== null) {
      const share = r.ironKgPerHa / r.labelMaxIronKgPerHa;
      if (share > 1.001) d.forIt.push(strong(`${rate} is ${round(share, 2)} times the label's most, ${round(r.labelMaxIronKgPerHa, 2)}`, 'the product label'));
      else if (share < 0.75) d.against.push(some(`${rate} is ${round(share * 100, 0)}% of the label's most, ${round(r.labelMaxIronKgPerHa, 2)}`, 'the product label'));
    } else d.unknown.push('the label\'s highest iron rate');
    if (r.ironKgPerHa > DIEBACK_IRON_KG_PER_HA) d.forIt.push(strong(`${rate} lies above ${DIEBACK_IRON_KG_PER_HA}, where leaves were said to die back`, DIEBACK));
    else if (r.ironKgPerHa > DARKENING_IRON_KG_PER_HA) d.forIt.push(some(`${rate} lies above ${DARKENING_IRON_KG_PER_HA}, from where darkening is to be expected`, HULL));
    else if (r.ironKgPerHa === 0) d.against.push(strong('no iron was sprayed', 'the record'));
    else d.against.push(some(`${rate} lies below ${DARKENING_IRON_KG_PER_HA}, a rate used for colour`, 'Yust, Wehner & Fermanian 1984 (1.1-4.5 kg Fe/ha for colour); Hull 2000'));
    if (r.ironKgPerHa > 0) d.whatIf.push({ id: 'half-the-iron', text: `Half the iron: ${round(r.ironKgPerHa / 2, 2)} kg Fe/ha`, change: { ironFactor: 0.5 } });
  }
  if (r.kind === 'blackening') d.forIt.push(strong('the mark is darker and greyer, as iron on the leaf shows', HULL));
  else if (r.kind === 'silver' || r.kind === 'chlorosis') d.against.push(strong('the mark is not dark', PRACTICE));
  if (r.overlapShare !== null && r.overlapShare > 0.05) d.forIt.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice and got double`, 'the record'));
  return d;
}

function ironTooSoon(r: MarkRecord): Draft {
  const d = draft();
  if (r.ironKgPerHa === 0) d.against.push(strong('no iron was sprayed', 'the record'));
  if (known(r.daysSinceLastIron, 'days since the last iron', d)) {
    const days = `${round(r.daysSinceLastIron)} days after the last iron`;
    const least = r.labelMinIntervalDays;
    if (least !== null && r.daysSinceLastIron < least) {
      d.forIt.push(strong(`${days}; the label asks for ${round(least)}`, 'the product label'));
      d.whatIf.push({ id: 'wait-for-interval', text: `Wait ${round(least - r.daysSinceLastIron)} more days, as the label asks`, change: { waitDays: least - r.daysSinceLastIron } });
    } else if (r.daysSinceLastIron < 7) {
      d.forIt.push(some(`${days}; light sprays are spaced about 7 days`, 'Hull 2000'));
      d.whatIf.push({ id: 'wait-for-interval', text: `Wait ${round(7 - r.daysSinceLastIron)} more days`, change: { waitDays: 7 - r.daysSinceLastIron } });
    } else d.against.push(strong(least === null ? days : `${days}, longer than the label's ${round(least)}`, least === null ? PRACTICE : 'the product label'));
    if (least === null) d.unknown.push("the label's shortest interval");
  }
  if (r.kind === 'blackening') d.forIt.push(some('the mark is dark, as iron on the leaf shows', HULL));
  else if (r.kind !== 'burn') d.against.push(some('the mark is not dark', PRACTICE));
  return d;
}

function strongSolution(r: MarkRecord): Draft {
  const d = draft();
  if (known(r.solutionPercentWV, 'solution strength', d)) {
    const text = `the tank held ${round(r.solutionPercentWV)} % w/v of dissolved fertiliser`;
    if (r.solutionPercentWV >= STRONG_SOLUTION_PERCENT) d.forIt.push(strong(`${text}, ${STRONG_SOLUTION_PERCENT} % or more`, PRACTICE));
    else if (r.solutionPercentWV < MILD_SOLUTION_PERCENT) d.against.push(strong(`${text}, below ${MILD_SOLUTION_PERCENT} %`, PRACTICE));
    if (r.solutionPercentWV >= MILD_SOLUTION_PERCENT) d.whatIf.push({ id: 'half-the-strength', text: `The same product in twice the water: ${round(r.solutionPercentWV / 2)} % w/v`, change: { carrierFactor: 2, strengthFactor: 0.5 } });
  }
  if (known(r.carrierLPerHa, 'carrier volume', d)) {
    const text = `${round(r.carrierLPerHa, 0)} L/ha of spray`;
    if (r.labelMinCarrierLPerHa !== null && r.carrierLPerHa < r.labelMinCarrierLPerHa) d.forIt.push(strong(`${text}; the label asks for at least ${round(r.labelMinCarrierLPerHa, 0)}`, 'the product label'));
    else if (r.carrierLPerHa < LOW_CARRIER_L_PER_HA) d.forIt.push(some(`${text}, less than ${LOW_CARRIER_L_PER_HA} (1 US gal per 1000 ft²)`, PRACTICE));
    else if (r.carrierLPerHa >= 2 * LOW_CARRIER_L_PER_HA) d.against.push(some(`${text}, at least ${2 * LOW_CARRIER_L_PER_HA} (2 US gal per 1000 ft²)`, PRACTICE));
  }
  if (r.nitrogenKgPerHa !== null && r.nitrogenKgPerHa >= 45) d.forIt.push(some(`${round(r.nitrogenKgPerHa)} kg N/ha at once; about 49 burned in trials in great heat, most in little water`, DILUTION));
  if (r.kind === 'burn') d.forIt.push(some('the mark is straw-coloured, as a salt burn shows', DILUTION));
  else if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not scorched', PRACTICE));
  return d;
}

function driedTooFast(r: MarkRecord): Draft {
  const d = draft();
  if (known(r.dryingMinutes, 'drying time', d)) {
    const text = `the film was dry after about ${round(r.dryingMinutes, 0)} min (an estimate)`;
    if (r.dryingMinutes < SHORT_DRYING_MINUTES) d.forIt.push(strong(`${text}, less than ${SHORT_DRYING_MINUTES}`, MECHANISM));
    else if (r.dryingMinutes < LONG_DRYING_MINUTES) d.forIt.push(some(`${text}, less than an hour`, MECHANISM));
    else d.against.push(strong(`${text}, an hour or more`, UPTAKE));
    if (r.dryingMinutes < LONG_DRYING_MINUTES) d.whatIf.push({ id: 'twice-the-carrier', text: 'The same in twice the carrier', change: { carrierFactor: 2 } });
  }
  if (known(r.sunLeftHours, 'sun left', d)) {
    if (r.sunLeftHours > 2) {
      d.forIt.push(some(`${round(r.sunLeftHours)} h of sun were left to dry it`, MECHANISM));
      d.whatIf.push({ id: 'later-in-the-evening', text: `The same ${round(r.sunLeftHours - 1)} h later, an hour before sunset`, change: { hoursLater: r.sunLeftHours - 1 } });
    } else d.against.push(some(`only ${round(r.sunLeftHours)} h of sun were left`, MECHANISM));
  }
  if (r.windMPerS !== null && r.windMPerS > WINDY_M_PER_S) d.forIt.push(some(`wind of ${round(r.windMPerS)} m/s dries a film sooner`, PRACTICE));
  if (r.rainWithin4hMm !== null && r.rainWithin4hMm >= 1) d.against.push(some(`${round(r.rainWithin4hMm)} mm of water within 4 h rinsed the leaf`, PRACTICE));
  if (r.kind === 'silver' || r.kind === 'burn') d.forIt.push(some(r.kind === 'silver' ? 'the mark is a pale haze, as dried salt shows' : 'the mark is scorched, as salt left on the leaf does', MECHANISM));
  else if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not hazy or scorched', PRACTICE));
  return d;
}

function heat(r: MarkRecord): Draft {
  const d = draft();
  const hottest = Math.max(r.airTempC ?? -Infinity, r.maxTempNext24hC ?? -Infinity);
  if (hottest === -Infinity) d.unknown.push('temperature');
  else {
    const text = `up to ${round(hottest)} °C at or after the spray`;
    if (hottest >= HOT_C) d.forIt.push(strong(`${text}, ${HOT_C} (85 °F) or more`, PRACTICE));
    else if (hottest >= WARM_C) d.forIt.push(some(`${text}, ${WARM_C} (80 °F) or more`, PRACTICE));
    else d.against.push(strong(`${text}, below ${WARM_C} (80 °F)`, PRACTICE));
    if (hottest >= WARM_C) d.whatIf.push({ id: 'cooler-day', text: `A day that stays below ${WARM_C} °C`, change: { maxTempC: WARM_C } });
  }
  if (r.maxTempNext24hC === null) d.unknown.push('the highest temperature of the next day');
  if (r.kind === 'burn') d.forIt.push(some('the mark is scorched', MECHANISM));
  if (r.kind === 'blackening') d.forIt.push(some('heat makes iron darken more', HULL));
  if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not scorched', PRACTICE));
  return d;
}

function surfactantWithAmmonium(r: MarkRecord): Draft {
  const d = draft();
  if (r.surfactant === null) d.unknown.push('whether a surfactant was in the tank');
  if (r.ammoniumSalt === null) d.unknown.push('whether an ammonium salt was in the tank');
  if (r.surfactant === false) d.against.push(strong('no surfactant was in the tank', 'the record'));
  if (r.ammoniumSalt === false) d.against.push(strong('no ammonium salt was in the tank', 'the record'));
  if (r.surfactant === true && r.ammoniumSalt === true) {
    d.forIt.push(strong('a surfactant and an ammonium salt were in the tank together', SALT_SURFACTANT));
    d.whatIf.push({ id: 'without-surfactant', text: 'The same without the surfactant', change: { surfactantFactor: 0 } });
    if (r.kind === 'burn' || r.kind === 'silver') d.forIt.push(some('the mark is hazy or scorched, as salt drawn into the leaf does', PRACTICE));
    if (r.solutionPercentWV !== null && r.solutionPercentWV < MILD_SOLUTION_PERCENT) d.against.push(some(`the solution was weak, ${round(r.solutionPercentWV)} % w/v`, PRACTICE));
  }
  return d;
}

function overlapOrWind(r: MarkRecord): Draft {
  const d = draft();
  if (known(r.overlapShare, 'overlap of passes', d)) {
    if (r.overlapShare > 0.05) d.forIt.push(strong(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice`, 'the record'));
    else d.against.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice`, 'the record'));
  }
  if (known(r.windMPerS, 'wind', d)) {
    if (r.windMPerS > WINDY_M_PER_S) {
      d.forIt.push(some(`wind of ${round(r.windMPerS)} m/s, above ${WINDY_M_PER_S} (8 mph), moves the spray`, 'pesticidestewardship.org (3-8 mph where a label names none)'));
      d.whatIf.push({ id: 'calmer-hour', text: `An hour with wind below ${WINDY_M_PER_S} m/s`, change: { maxWindMPerS: WINDY_M_PER_S } });
    } else d.against.push(some(`wind of ${round(r.windMPerS)} m/s was within ${WINDY_M_PER_S}`, 'pesticidestewardship.org (3-8 mph where a label names none)'));
  }
  return d;
}

function driedResidue(r: MarkRecord): Draft {
  const d = draft();
  if (r.kind === 'silver') d.forIt.push(strong('the mark is pale and grey but not brown, as a film on the leaf shows', PRACTICE));
  else d.against.push(strong('the mark is not a grey haze', PRACTICE));
  if (r.ironWithPhosphate === true) d.forIt.push(strong('iron sulfate and phosphate in one tank form a solid', 'solubility of iron phosphates; jar test advised, common practice, no source'));
  else if (r.ironWithPhosphate === null) d.unknown.push('whether iron sulfate met a phosphate in the tank');
  if (r.tankPh !== null && r.tankPh > 7 && (r.ironKgPerHa ?? 0) > 0) d.forIt.push(some(`tank pH ${round(r.tankPh)}: iron falls out of solution above 7`, PRACTICE));
  else if (r.tankPh === null) d.unknown.push('tank pH');
  if (r.rainWithin4hMm !== null && r.rainWithin4hMm >= 1) d.against.push(some(`${round(r.rainWithin4hMm)} mm of water within 4 h rinsed the leaf`, PRACTICE));
  if (aroseAfter(r) > 5) d.against.push(some(`not there ${round(aroseAfter(r))} days after: a film shows as soon as it is dry`, PRACTICE));
  return d;
}

function notTheSpray(r: MarkRecord): Draft {
  const d = draft();
  if (r.seenBeforeSpray === true) d.forIt.push(strong('a photo from before the spray shows it already', 'the photos'), some('what was there before needs another reason', 'the photos'));
  else if (r.seenBeforeSpray === false) d.against.push(strong('no photo from before the spray shows it', 'the photos'));
  else d.unknown.push('a photo from before the spray');
  if (r.alsoOnCheck === true) d.forIt.push(strong('the unsprayed check shows the like', 'the photos'));
  else if (r.alsoOnCheck === false && r.seenBeforeSpray !== true) d.against.push(some('the unsprayed check does not show it', 'the photos'));
  else if (r.alsoOnCheck === false) d.unknown.push('what the treated plot had before that the check had not');
  else d.unknown.push('an unsprayed check in the same photo');
  if (aroseAfter(r) <= 5 && r.daysAfterSpray > 5) d.unknown.push(`when it arose: no photo lies between ${aroseAfter(r) === 0 ? 'the spray' : `day ${round(aroseAfter(r))}`} and day ${round(r.daysAfterSpray)}`);
  if (aroseAfter(r) > 5) d.forIt.push(some(`not there ${round(aroseAfter(r))} days after the spray, late for a burn`, 'Agnew & Moore 1989 (burn rated 4 days after); Hull 2000 (darkening appears fast)'));
  if (r.kind === 'chlorosis' || r.kind === 'other') d.forIt.push(some(r.kind === 'chlorosis' ? 'yellowing has many reasons: hunger, wet feet, disease' : 'the mark has none of the known colours', PRACTICE));
  return d;
}

/** Days after the spray before which the mark can't have arisen: 0 where no photo shows the plot without it. First seen is not arisen. */
const aroseAfter = ({ clearUntilDays }: MarkRecord): number => Math.max(0, clearUntilDays ?? 0);

/** A wider gap between the last photo without a mark and the first with it is said. Our own choice, no source. */
const UNCERTAIN_DAYS = 2;

const CAUSES: readonly { readonly cause: CauseId; readonly title: string; readonly weigh: (record: MarkRecord) => Draft }[] = [
  { cause: 'too-much-iron', title: 'Too much iron', weigh: tooMuchIron },
  { cause: 'iron-too-soon', title: 'Iron too soon after the last', weigh: ironTooSoon },
  { cause: 'strong-solution', title: 'Too strong a solution, too little water', weigh: strongSolution },
  { cause: 'dried-too-fast', title: 'Dried too fast', weigh: driedTooFast },
  { cause: 'heat', title: 'Heat', weigh: heat },
  { cause: 'surfactant-with-ammonium', title: 'Surfactant with an ammonium salt', weigh: surfactantWithAmmonium },
  { cause: 'overlap-or-wind', title: 'Overlap or drift', weigh: overlapOrWind },
  { cause: 'dried-residue', title: 'A film dried on the leaf', weigh: driedResidue },
  { cause: 'not-the-spray', title: 'Something other than the spray', weigh: notTheSpray },
];

const points = (evidence: readonly Evidence[]): number => evidence.reduce((sum, one) => sum + (one.weight === 'strong' ? 2 : 1), 0);

/** 'likely' needs three points more for than against and one strong piece; 'possible' one more for than against. Our own rule, no source. */
function strengthOf(d: Draft): Strength {
  const balance = points(d.forIt) - points(d.against);
  if (balance >= 3 && d.forIt.some((one) => one.weight === 'strong')) return 'likely';
  return balance >= 1 ? 'possible' : 'unlikely';
}

function sentenceFor(title: string, strength: Strength, d: Draft): string {
  const lead = d.forIt.toSorted((a, b) => points([b]) - points([a]))[0];
  const but = d.against.toSorted((a, b) => points([b]) - points([a]))[0];
  if (strength === 'unlikely') return `${title}: unlikely${but ? `, as ${but.text}` : ' from what the record holds'}.`;
  return `${title}: ${strength}, as ${lead!.text}${but ? `; against it, ${but.text}` : ''}.`;
}

/**
 * Weighs each cause for a mark that may have arisen within ten days of a spray, whenever it was first seen.
 * @returns findings, strongest first ('likely', 'possible', 'unlikely'), each with its evidence; or 'too-late' beyond ten days
 * @throws RangeError when the days are negative or not a number
 */
export function findCauses(record: MarkRecord): CauseReport {
  const { daysAfterSpray } = record;
  const after = aroseAfter(record);
  if (!(Number.isFinite(daysAfterSpray) && daysAfterSpray >= 0)) throw new RangeError(`daysAfterSpray: expected 0 or more days, got ${daysAfterSpray}`);
  if (!(Number.isFinite(after) && after >= 0 && after <= daysAfterSpray)) throw new RangeError(`clearUntilDays: expected 0 to ${daysAfterSpray} days, got ${after}`);
  if (after > LINK_DAYS) {
    return { kind: 'too-late', sentences: [`A photo ${round(after)} days after the last spray does not show the mark yet. What arises more than ${LINK_DAYS} days after a spray is not linked to it here.`] };
  }
  const weighed = CAUSES.map(({ cause, title, weigh }) => {
    const d = weigh(record);
    // A mark that was there before cannot come from the spray, whatever the rates.
    if (cause !== 'not-the-spray' && record.seenBeforeSpray === true) d.against.push(strong('a photo from before the spray shows it already', 'the photos'), strong('so it did not begin with this spray', 'the photos'));
    if (cause !== 'not-the-spray' && record.alsoOnCheck === true) d.against.push(strong('the unsprayed check shows the like', 'the photos'));
    const strength = strengthOf(d);
    const finding: CauseFinding = {
      cause,
      title,
      strength,
      sentence: sentenceFor(title, strength, d),
      evidenceFor: d.forIt,
      evidenceAgainst: d.against,
      unknown: [...new Set(d.unknown)],
      whatIf: strength === 'unlikely' ? [] : d.whatIf,
    };
    return { finding, balance: points(d.forIt) - points(d.against) };
  });
  const rank: Readonly<Record<Strength, number>> = { likely: 0, possible: 1, unlikely: 2 };
  weighed.sort((a, b) => rank[a.finding.strength] - rank[b.finding.strength] || b.balance - a.balance);
  const findings = weighed.map(({ finding }) => finding);
  const likely = findings.filter((one) => one.strength === 'likely').length;
  const sentences = [
    likely === 0 ? 'Nothing in the record makes one cause likely.' : likely === 1 ? `Most likely from the record: ${findings[0]!.title.toLowerCase()}.` : `${likely} causes are likely and may have worked together.`,
    ...(daysAfterSpray - after > UNCERTAIN_DAYS
      ? [`It arose some time between ${after === 0 ? 'the spray' : `day ${round(after)}`} and day ${round(daysAfterSpray)}: no photo lies between, so early causes are weighed as well as late ones.`]
      : []),
    'This weighs what was written down; a test strip, a closer look at the leaf, or the county extension service can tell more.',
  ];
  return { kind: 'findings', findings, sentences };
}

/** The answer to a what-if once the drying model has been run for both cases. */
export function dryingWhatIfSentence(what: string, at: string, minutesThen: number, minutesNow: number): string {
  return `${what} at ${at} would have dried in ${round(minutesThen, 0)} min instead of ${round(minutesNow, 0)} (an estimate).`;
}
