import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { aroseAfter, decisive, draft, known, round, some, strong } from '@/lib/explain/draft';
import type { Cause, CauseDraft, DryingYardstick, MarkRecord } from '@/lib/explain/causes';
import {
  CARRIER_LEAST_L_PER_HA,
  IRON_DARKENS_KG_PER_HA,
  IRON_DIEBACK_KG_PER_HA,
  SALT_CAUTION_G_PER_L,
  SALT_NOTE_G_PER_L,
} from '@/lib/spray/burn-checks';
import { DEFAULT_LIMITS } from '@/lib/weather/window-limits';
import { heatLimits } from '@/lib/spray/grass-season';
import { MARK_KINDS } from '@/lib/photo/marks/kind';
import { quantity } from '@/lib/units/quantity';
import { hardnessClass } from '@/lib/water/hardness';

const HULL = 'Hull 2000 (much iron darkens; heat and nitrogen add to it)';
const DIEBACK = 'extension text on Kentucky bluegrass, seen in a copy only';
const DILUTION = 'Agnew & Moore 1989; Wesely 1983 (burn grows with nitrogen rate and with less water)';
const MECHANISM = 'North Dakota State University 2005 (wheat: burn when a warm film dries within the hour)';
const UPTAKE =
  'Henning, Mulvaney & Branham 2013; Stiegler, Richardson & Karcher 2011 (most leaf uptake in the first hours)';
const SALT_SURFACTANT =
  'related only: Nalewaja & Matysiak 2000 (ammonium salt and surfactant raised uptake of a herbicide in crabgrass); for turf fertiliser common practice, no source';
const DRIFT = 'pesticidestewardship.org, where a label names no wind';
const LABEL = 'the product label';
const RECORD = 'the record';

/** Within an hour most of what goes in at all goes in (UPTAKE). */
const UPTAKE_MINUTES = 60;
/** Upper end of the range advised where a label names none. */
const WINDY_M_PER_S = DEFAULT_LIMITS.goodWindMPerS;
/** 10 g/L is 1 % w/v. */
const STRONG_SOLUTION_PERCENT = SALT_CAUTION_G_PER_L / 10;
const MILD_SOLUTION_PERCENT = SALT_NOTE_G_PER_L / 10;
/** 0.1 in of water rinses a film off; half as much thins it. Common practice, no source. */
const RINSING_MM = 2.5;
const THINNING_MM = 1;
/**
 * A haze of a dried film shows within so many days; later it would be mown or washed off. Common practice, no source.
 */
const FILM_DAYS = 5;
const GYPSUM_MMOL_PER_L = 14.5;
/** Whole passes overlap a little on most plots; from here on it is much. Our own line, no source. */
const MUCH_OVERLAP = 0.2;

const rinsed = (r: MarkRecord): boolean => (r.waterWithin4hMm ?? 0) >= RINSING_MM;

/** Water within four hours takes away what would have dried on. */
function weighRinse(r: MarkRecord, d: CauseDraft): void {
  if (!known(r.waterWithin4hMm, 'rain and watering in the first 4 h', d) || r.waterWithin4hMm < THINNING_MM) return;
  const text = `${quantity('water', r.waterWithin4hMm)} of water within 4 h rinsed the leaf`;
  d.against.push(rinsed(r) ? decisive(text, COMMON_PRACTICE) : strong(text, COMMON_PRACTICE));
}

/** A film shows as soon as it is dry: what a photo five days on doesn't show was none. */
function weighFilmAge(r: MarkRecord, d: CauseDraft): void {
  if (aroseAfter(r) > FILM_DAYS)
    d.against.push(
      some(`not there ${round(aroseAfter(r))} days after: a film shows as soon as it is dry`, COMMON_PRACTICE),
    );
  else if (r.daysAfterSpray > FILM_DAYS && r.mownSinceSpray === true)
    d.against.push(some('mown since: a film would have been cut off', COMMON_PRACTICE));
}

function weighLateBurn(r: MarkRecord, d: CauseDraft): void {
  if (aroseAfter(r) > FILM_DAYS)
    d.against.push(some(`not there ${round(aroseAfter(r))} days after the spray, late for a burn`, DILUTION));
}

/** What a dried film asks to be done otherwise: more water, a later hour. */
function offerSlowerDrying(r: MarkRecord, d: CauseDraft): void {
  if (r.carrierLPerHa !== null)
    d.whatIf.push({
      id: 'twice-the-carrier',
      text: `The same in twice the carrier, ${quantity('liquidRate', r.carrierLPerHa * 2)}`,
      change: { carrierFactor: 2 },
    });
  else d.whatIf.push({ id: 'twice-the-carrier', text: 'The same in twice the carrier', change: { carrierFactor: 2 } });
  if (r.sunLeftHours !== null && r.sunLeftHours > 0.75) {
    d.whatIf.push({
      id: 'later-in-the-evening',
      text: `The same ${round(r.sunLeftHours - 0.5)} h later, half an hour before sunset`,
      change: { hoursLater: r.sunLeftHours - 0.5 },
    });
  }
}

function offerLessIron(r: MarkRecord, d: CauseDraft): void {
  if (r.ironKgPerHa !== null && r.ironKgPerHa > 0)
    d.whatIf.push({
      id: 'half-the-iron',
      text: `Half the iron: ${quantity('nutrientRate', r.ironKgPerHa / 2)} of Fe instead of ${quantity('nutrientRate', r.ironKgPerHa)}`,
      change: { ironFactor: 0.5 },
    });
}

/** Iron that stayed on the leaf instead of going in: a silvery haze, or a dark cast; the two are faces of one thing. */
function ironOnLeaf(r: MarkRecord, yardstick: DryingYardstick): CauseDraft {
  const d = draft();
  if (!known(r.ironKgPerHa, 'iron rate', d)) return d;
  if (r.ironKgPerHa === 0) {
    d.against.push(decisive('no iron was sprayed', RECORD));
    return d;
  }
  const rate = `iron was in the mix, ${quantity('nutrientRate', r.ironKgPerHa)} of Fe`;
  if (r.kind === 'silver')
    d.forIt.push(
      strong(`${rate}, and a silvery haze some three days after is mostly iron that wasn't taken up`, COMMON_PRACTICE),
    );
  else if (r.kind === 'blackening')
    d.forIt.push(strong(`${rate}, and a dark cast is iron on the leaf as a silvery one is`, HULL));
  else d.forIt.push(some(rate, COMMON_PRACTICE));
  const isRinsed = rinsed(r);
  if (known(r.dryingMinutes, 'drying time', d) && !isRinsed) {
    const text = `the film was dry after about ${round(r.dryingMinutes, 0)} min (an estimate)`;
    if (r.dryingMinutes < yardstick.goodWetMin)
      d.forIt.push(some(`${text}, less than the ${yardstick.goodWetMin} a spray should stay wet`, UPTAKE));
    else if (r.dryingMinutes < UPTAKE_MINUTES)
      d.forIt.push(some(`${text}, quick against the hour in which most goes in`, UPTAKE));
    else d.against.push(some(`${text}, an hour or more`, UPTAKE));
    if (r.dryingMinutes < UPTAKE_MINUTES) offerSlowerDrying(r, d);
  }
  if (r.kind === 'silver' && r.daysSinceLastIron !== null && r.daysSinceLastIron < (r.labelMinIntervalDays ?? 7)) {
    d.forIt.push(
      some(
        `only ${round(r.daysSinceLastIron)} days after the last iron, where ${round(r.labelMinIntervalDays ?? 7)} are asked: two lots lie on one leaf`,
        r.labelMinIntervalDays === null ? 'Hull 2000' : LABEL,
      ),
    );
  }
  if (!isRinsed && r.labelMaxIronKgPerHa !== null && r.ironKgPerHa >= 0.9 * r.labelMaxIronKgPerHa)
    d.forIt.push(
      some(`the iron was at the label's most, ${quantity('nutrientRate', r.labelMaxIronKgPerHa)} of Fe`, LABEL),
    );
  if (r.kind === 'silver' && r.daysAfterSpray >= 1 && r.daysAfterSpray <= FILM_DAYS)
    d.forIt.push(
      some(
        `first seen ${round(r.daysAfterSpray)} ${round(r.daysAfterSpray) === '1' ? 'day' : 'days'} after the spray, when it mostly shows`,
        COMMON_PRACTICE,
      ),
    );
  weighFilmAge(r, d);
  const { warmC } = heatLimits(r.grassSeason);
  const hottest = Math.max(r.airTempC ?? -Infinity, r.maxTempNext24hC ?? -Infinity);
  if (hottest >= warmC)
    d.forIt.push(some(`up to ${quantity('temperature', hottest)}: it dried, and darkens, the faster`, HULL));
  weighRinse(r, d);
  offerLessIron(r, d);
  if (hottest >= warmC)
    d.whatIf.push({
      id: 'cooler-day',
      text: `A day that stays below ${quantity('temperature', warmC)}`,
      change: { maxTempC: warmC },
    });
  if (r.windMPerS !== null && r.windMPerS > WINDY_M_PER_S)
    d.whatIf.push({
      id: 'calmer-hour',
      text: `An hour with wind below ${quantity('wind', WINDY_M_PER_S)}`,
      change: { maxWindMPerS: WINDY_M_PER_S },
    });
  if (r.kind === 'chlorosis')
    d.against.push(strong('the mark is yellow, and iron greens', 'Yust, Wehner & Fermanian 1984'));
  return d;
}

function tooMuchIron(r: MarkRecord): CauseDraft {
  const d = draft();
  if (known(r.ironKgPerHa, 'iron rate', d)) {
    const rate = `${quantity('nutrientRate', r.ironKgPerHa)} of Fe`;
    if (r.labelMaxIronKgPerHa !== null) {
      const share = r.ironKgPerHa / r.labelMaxIronKgPerHa;
      if (share > 1.001)
        d.forIt.push(
          strong(
            `${rate} is ${round(share, 2)} times the label's most, ${quantity('nutrientRate', r.labelMaxIronKgPerHa)}`,
            LABEL,
          ),
        );
      else if (share < 0.75)
        d.against.push(
          some(
            `${rate} is ${round(share * 100, 0)}% of the label's most, ${quantity('nutrientRate', r.labelMaxIronKgPerHa)}`,
            LABEL,
          ),
        );
    } else d.unknown.push("the label's highest iron rate");
    if (r.ironKgPerHa > IRON_DIEBACK_KG_PER_HA)
      d.forIt.push(
        strong(
          `${rate} lies above ${quantity('nutrientRate', IRON_DIEBACK_KG_PER_HA)}, where leaves were said to die back`,
          DIEBACK,
        ),
      );
    else if (r.ironKgPerHa > IRON_DARKENS_KG_PER_HA)
      d.forIt.push(
        some(
          `${rate} lies above ${quantity('nutrientRate', IRON_DARKENS_KG_PER_HA)}, from where darkening is to be expected`,
          HULL,
        ),
      );
    else if (r.ironKgPerHa === 0) d.against.push(decisive('no iron was sprayed', RECORD));
    else
      d.against.push(
        some(
          `${rate} lies below ${quantity('nutrientRate', IRON_DARKENS_KG_PER_HA)}, a rate used for colour`,
          'Yust, Wehner & Fermanian 1984 (iron for colour); Hull 2000',
        ),
      );
    offerLessIron(r, d);
  }
  if (r.kind === 'blackening') d.forIt.push(some('the mark is darker and greyer, as iron on the leaf shows', HULL));
  if (r.kind === 'chlorosis')
    d.against.push(strong('the mark is yellow, and iron greens', 'Yust, Wehner & Fermanian 1984'));
  if (r.overlapShare !== null && r.overlapShare > 0.05)
    d.forIt.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice and got double`, RECORD));
  weighRinse(r, d);
  return d;
}

function ironTooSoon(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.ironKgPerHa === 0) d.against.push(decisive('no iron was sprayed', RECORD));
  if (known(r.daysSinceLastIron, 'days since the last iron', d)) {
    const days = `${round(r.daysSinceLastIron)} days after the last iron`;
    const least = r.labelMinIntervalDays;
    if (least !== null && r.daysSinceLastIron < least) {
      d.forIt.push(strong(`${days}; the label asks for ${round(least)}`, LABEL));
      d.whatIf.push({
        id: 'wait-for-interval',
        text: `Wait ${round(least - r.daysSinceLastIron)} more days, as the label asks`,
        change: { waitDays: least - r.daysSinceLastIron },
      });
    } else if (r.daysSinceLastIron < 7) {
      d.forIt.push(some(`${days}; light sprays are spaced about 7 days`, 'Hull 2000'));
      d.whatIf.push({
        id: 'wait-for-interval',
        text: `Wait ${round(7 - r.daysSinceLastIron)} more days`,
        change: { waitDays: 7 - r.daysSinceLastIron },
      });
    } else
      d.against.push(
        strong(
          least === null ? days : `${days}, longer than the label's ${round(least)}`,
          least === null ? COMMON_PRACTICE : LABEL,
        ),
      );
    if (least === null) d.unknown.push("the label's shortest interval");
  }
  weighRinse(r, d);
  if (r.kind === 'blackening') d.forIt.push(some('the mark is dark, as iron on the leaf shows', HULL));
  if (r.kind === 'chlorosis')
    d.against.push(strong('the mark is yellow, and iron greens', 'Yust, Wehner & Fermanian 1984'));
  return d;
}

function strongSolution(r: MarkRecord): CauseDraft {
  const d = draft();
  if (known(r.solutionPercentWV, 'solution strength', d)) {
    const text = `the tank held ${round(r.solutionPercentWV)} % w/v of dissolved fertiliser`;
    if (r.solutionPercentWV >= STRONG_SOLUTION_PERCENT)
      d.forIt.push(strong(`${text}, ${STRONG_SOLUTION_PERCENT} % or more`, COMMON_PRACTICE));
    else if (r.solutionPercentWV < MILD_SOLUTION_PERCENT)
      d.against.push(strong(`${text}, below ${MILD_SOLUTION_PERCENT} %`, COMMON_PRACTICE));
    if (r.solutionPercentWV >= MILD_SOLUTION_PERCENT)
      d.whatIf.push({
        id: 'half-the-strength',
        text: `The same product in twice the water: ${round(r.solutionPercentWV / 2)} % w/v`,
        change: { carrierFactor: 2, strengthFactor: 0.5 },
      });
  }
  if (known(r.carrierLPerHa, 'carrier volume', d)) {
    const text = `${quantity('liquidRate', r.carrierLPerHa)} of spray`;
    if (r.labelMinCarrierLPerHa !== null && r.carrierLPerHa < r.labelMinCarrierLPerHa)
      d.forIt.push(
        strong(`${text}; the label asks for at least ${quantity('liquidRate', r.labelMinCarrierLPerHa)}`, LABEL),
      );
    else if (r.carrierLPerHa < CARRIER_LEAST_L_PER_HA)
      d.forIt.push(some(`${text}, less than ${quantity('liquidRate', CARRIER_LEAST_L_PER_HA)}`, COMMON_PRACTICE));
    else if (r.carrierLPerHa >= 2 * CARRIER_LEAST_L_PER_HA)
      d.against.push(some(`${text}, at least ${quantity('liquidRate', 2 * CARRIER_LEAST_L_PER_HA)}`, COMMON_PRACTICE));
  }
  if (r.nitrogenKgPerHa !== null && r.nitrogenKgPerHa >= 45)
    d.forIt.push(
      some(
        `${quantity('nutrientRate', r.nitrogenKgPerHa)} of N at once; about ${quantity('nutrientRate', 48.8)} burned in trials in great heat, most in little water`,
        DILUTION,
      ),
    );
  if (r.kind === 'burn') d.forIt.push(some('the mark is straw-coloured, as a salt burn shows', DILUTION));
  else if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not scorched', COMMON_PRACTICE));
  weighLateBurn(r, d);
  weighRinse(r, d);
  return d;
}

function driedTooFast(r: MarkRecord, yardstick: DryingYardstick): CauseDraft {
  const d = draft();
  if (known(r.dryingMinutes, 'drying time', d)) {
    const text = `the film was dry after about ${round(r.dryingMinutes, 0)} min (an estimate, rather too short)`;
    if (r.dryingMinutes < yardstick.leastWetMin)
      d.forIt.push(strong(`${text}, less than ${yardstick.leastWetMin}`, MECHANISM));
    else if (r.dryingMinutes < yardstick.goodWetMin)
      d.forIt.push(some(`${text}, less than ${yardstick.goodWetMin}`, MECHANISM));
    else if (r.dryingMinutes >= UPTAKE_MINUTES) d.against.push(strong(`${text}, an hour or more`, UPTAKE));
    if (r.dryingMinutes < UPTAKE_MINUTES) offerSlowerDrying(r, d);
  }
  // Drying fast does harm only where something is left behind.
  const iron = r.ironKgPerHa ?? 0;
  if (known(r.solutionPercentWV, 'solution strength', d)) {
    if (r.solutionPercentWV >= MILD_SOLUTION_PERCENT)
      d.forIt.push(some(`${round(r.solutionPercentWV)} % w/v was there to be left behind`, MECHANISM));
    else if (iron > 0)
      d.forIt.push(some(`${quantity('nutrientRate', iron)} of Fe was there to be left behind`, COMMON_PRACTICE));
    else
      d.against.push(
        strong(
          `the solution was weak, ${round(r.solutionPercentWV)} % w/v: little was there to be left behind`,
          COMMON_PRACTICE,
        ),
      );
  }
  weighRinse(r, d);
  weighFilmAge(r, d);
  if (r.kind === 'silver' || r.kind === 'burn')
    d.forIt.push(
      some(
        r.kind === 'silver'
          ? 'the mark is a pale haze, as a dried film shows'
          : 'the mark is scorched, as salt left on the leaf does',
        MECHANISM,
      ),
    );
  else if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not hazy or scorched', COMMON_PRACTICE));
  return d;
}

function heat(r: MarkRecord): CauseDraft {
  const d = draft();
  const { warmC, hotC, source } = heatLimits(r.grassSeason);
  if (r.grassSeason === null) d.unknown.push("the lawn's grass (cool-season limits are used)");
  const hottest = Math.max(r.airTempC ?? -Infinity, r.maxTempNext24hC ?? -Infinity);
  if (hottest === -Infinity) d.unknown.push('temperature');
  else {
    const text = `up to ${quantity('temperature', hottest)} at or after the spray`;
    const grass = r.grassSeason === null ? '' : ` for ${r.grassSeason}-season grass`;
    if (hottest >= hotC) d.forIt.push(strong(`${text}, ${quantity('temperature', hotC)} or more${grass}`, source));
    else if (hottest >= warmC) d.forIt.push(some(`${text}, ${quantity('temperature', warmC)} or more${grass}`, source));
    else d.against.push(strong(`${text}, below ${quantity('temperature', warmC)}${grass}`, source));
    if (hottest >= warmC)
      d.whatIf.push({
        id: 'cooler-day',
        text: `A day that stays below ${quantity('temperature', warmC)}`,
        change: { maxTempC: warmC },
      });
  }
  if (r.ironKgPerHa === 0 && r.solutionPercentWV !== null && r.solutionPercentWV < MILD_SOLUTION_PERCENT)
    d.against.push(
      strong(`no iron and only ${round(r.solutionPercentWV)} % w/v was there for heat to burn with`, COMMON_PRACTICE),
    );
  if (r.maxTempNext24hC === null) d.unknown.push('the highest temperature of the next day');
  if (r.kind === 'burn') d.forIt.push(some('the mark is scorched', MECHANISM));
  if (r.kind === 'blackening' && (r.ironKgPerHa ?? 0) > 0) d.forIt.push(some('heat makes iron darken more', HULL));
  if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not scorched', COMMON_PRACTICE));
  return d;
}

function surfactantWithAmmonium(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.surfactant === null) d.unknown.push('whether a surfactant was in the tank');
  if (r.ammoniumSalt === null) d.unknown.push('whether an ammonium salt was in the tank');
  if (r.surfactant === false) d.against.push(strong('no surfactant was in the tank', RECORD));
  if (r.ammoniumSalt === false) d.against.push(strong('no ammonium salt was in the tank', RECORD));
  if (r.surfactant === true && r.ammoniumSalt === true) {
    d.forIt.push(strong('a surfactant and an ammonium salt were in the tank together', SALT_SURFACTANT));
    d.whatIf.push({
      id: 'without-surfactant',
      text: 'The same without the surfactant',
      change: { surfactantFactor: 0 },
    });
    if (r.kind === 'burn')
      d.forIt.push(some('the mark is scorched, as salt drawn into the leaf does', COMMON_PRACTICE));
    if (r.solutionPercentWV !== null && r.solutionPercentWV < MILD_SOLUTION_PERCENT)
      d.against.push(some(`the solution was weak, ${round(r.solutionPercentWV)} % w/v`, COMMON_PRACTICE));
    weighLateBurn(r, d);
    weighRinse(r, d);
  }
  return d;
}

function overlapOrWind(r: MarkRecord): CauseDraft {
  const d = draft();
  if (known(r.overlapShare, 'overlap of passes', d)) {
    if (r.overlapShare > MUCH_OVERLAP)
      d.forIt.push(strong(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice by whole passes`, RECORD));
    else if (r.overlapShare > 0.05)
      d.forIt.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice by whole passes`, RECORD));
    else d.against.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice`, RECORD));
  }
  if (known(r.windMPerS, 'wind', d)) {
    if (r.windMPerS > WINDY_M_PER_S) {
      d.forIt.push(
        some(
          `wind of ${quantity('wind', r.windMPerS)}, above ${quantity('wind', WINDY_M_PER_S)}, moves the spray`,
          DRIFT,
        ),
      );
      d.whatIf.push({
        id: 'calmer-hour',
        text: `An hour with wind below ${quantity('wind', WINDY_M_PER_S)}`,
        change: { maxWindMPerS: WINDY_M_PER_S },
      });
    } else
      d.against.push(
        some(`wind of ${quantity('wind', r.windMPerS)} was within ${quantity('wind', WINDY_M_PER_S)}`, DRIFT),
      );
  }
  return d;
}

function driedResidue(r: MarkRecord): CauseDraft {
  const d = draft();
  d.forIt.push(some('the mark is pale and grey but not brown, as a film on the leaf shows', COMMON_PRACTICE));
  if (r.ironWithPhosphate === true)
    d.forIt.push(
      strong(
        'iron sulfate and phosphate in one tank form a solid',
        'solubility of iron phosphates; jar test advised, common practice, no source',
      ),
    );
  else if (r.ironWithPhosphate === null) d.unknown.push('whether iron sulfate met a phosphate in the tank');
  if (r.tankPh !== null && r.tankPh > 7 && (r.ironKgPerHa ?? 0) > 0)
    d.forIt.push(strong(`tank pH ${round(r.tankPh)}: iron falls out of solution above 7`, COMMON_PRACTICE));
  else if (r.tankPh === null) d.unknown.push('tank pH');
  if (r.solutionPercentWV !== null && r.solutionPercentWV < 1 && r.ironWithPhosphate !== true)
    d.against.push(some(`the solution was weak, ${round(r.solutionPercentWV)} % w/v`, COMMON_PRACTICE));
  weighRinse(r, d);
  weighFilmAge(r, d);
  return d;
}

function hardWaterFilm(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.hardnessMgPerLCaCO3 === null && r.gypsumMmolPerL === null) {
    d.notWeighed = "the water's hardness is not on record";
    return d;
  }
  if (r.gypsumMmolPerL !== null && r.gypsumMmolPerL > GYPSUM_MMOL_PER_L)
    d.forIt.push(
      strong(
        `the tank holds ${round(r.gypsumMmolPerL / GYPSUM_MMOL_PER_L, 1)} times the calcium and sulfate at which gypsum falls out`,
        'solubility of gypsum, handbook value from memory',
      ),
    );
  if (r.hardnessMgPerLCaCO3 !== null) {
    const text = `water with a hardness of ${quantity('alkalinity', r.hardnessMgPerLCaCO3)}`;
    const hard = hardnessClass(r.hardnessMgPerLCaCO3);
    if (hard === 'very hard')
      d.forIt.push(
        some(
          `${text}, very hard: it dries white`,
          'US Geological Survey classes, limits from memory; that it shows on leaves is common practice',
        ),
      );
    else if (hard === 'soft')
      d.against.push(strong(`${text}, soft`, 'US Geological Survey classes, limits from memory'));
    else d.against.push(some(`${text}, not very hard`, 'US Geological Survey classes, limits from memory'));
  }
  weighRinse(r, d);
  weighFilmAge(r, d);
  return d;
}

const RUB =
  'Wet a finger and rub a leaf: a film wipes off, a burnt leaf stays. Rinse half of the patch and look again tomorrow.';
const RINSE_HALF =
  'Rinse half of the patch with plain water and look again tomorrow: what lies on the leaf goes, what went in stays.';

/** The causes that lie in the spray itself. */
// prettier-ignore
export const SPRAY_CAUSES: readonly Cause[] = [
  { cause: 'iron-on-leaf', title: 'Iron left on the leaf', kinds: MARK_KINDS, look: RUB, weigh: ironOnLeaf },
  { cause: 'too-much-iron', title: 'Too much iron', kinds: MARK_KINDS, look: 'Look whether the whole sprayed ground is dark and where passes met darkest; it pales within a week or two.', weigh: tooMuchIron },
  { cause: 'iron-too-soon', title: 'Iron too soon after the last', kinds: MARK_KINDS, look: 'Compare with ground that had only one of the two sprays.', weigh: ironTooSoon },
  { cause: 'strong-solution', title: 'Too strong a solution, too little water', kinds: MARK_KINDS, look: 'Look at the leaf tips and edges through a lens: salt burns them first. A hard edge along a pass speaks for it.', weigh: strongSolution },
  { cause: 'dried-too-fast', title: 'Dried too fast', kinds: MARK_KINDS, look: RINSE_HALF, weigh: driedTooFast },
  { cause: 'heat', title: 'Heat', kinds: MARK_KINDS, look: 'Look whether the sunniest, driest ground is worst, and shade is spared.', weigh: heat },
  { cause: 'surfactant-with-ammonium', title: 'Surfactant with an ammonium salt', kinds: MARK_KINDS, look: 'Look through a lens: spots where drops lay, and edges drawn in, speak for it. A strip without the surfactant tells.', weigh: surfactantWithAmmonium },
  { cause: 'overlap-or-wind', title: 'Overlap or drift', kinds: MARK_KINDS, look: 'Measure from the plot’s edge: stripes at the spacing of your passes speak for overlap, a fringe on the lee side for drift.', weigh: overlapOrWind },
  { cause: 'dried-residue', title: 'A film of something that fell out in the tank', kinds: ['silver', 'other'], look: `${RUB} Look for a deposit in the tank and on the nozzle’s screen.`, weigh: driedResidue },
  { cause: 'hard-water-film', title: 'Hard water or gypsum dried on', kinds: ['silver', 'other'], look: 'Put a drop of vinegar on a white speck: lime foams, gypsum and iron do not. Let a spoonful of the water dry on a dark plate.', weigh: hardWaterFilm },
];
