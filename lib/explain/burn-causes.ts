import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { draft, known, round, some, strong } from '@/lib/explain/draft';
import type { CauseDraft, DryingYardstick, MarkRecord } from '@/lib/explain/causes';
import { CARRIER_LEAST_L_PER_HA, SALT_CAUTION_G_PER_L, SALT_NOTE_G_PER_L } from '@/lib/spray/burn-checks';
import { heatLimits } from '@/lib/spray/grass-season';
import { quantity } from '@/lib/units/quantity';
import { LABEL, DILUTION, MECHANISM, UPTAKE, HULL, RECORD, SALT_SURFACTANT } from './spray-sources';
import { weighLateBurn, weighRinse, UPTAKE_MINUTES, offerSlowerDrying, weighFilmAge } from './film-on-leaf';

/** 10 g/L is 1 % w/v. */
const STRONG_SOLUTION_PERCENT = SALT_CAUTION_G_PER_L / 10;

const MILD_SOLUTION_PERCENT = SALT_NOTE_G_PER_L / 10;

export function strongSolution(r: MarkRecord): CauseDraft {
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

export function driedTooFast(r: MarkRecord, yardstick: DryingYardstick): CauseDraft {
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
    else if (iron > 0 || (r.ironKgPerHa === null && r.ironInMix === true)) {
      // Iron that is left behind doesn't yellow.
      if (r.kind !== 'chlorosis')
        d.forIt.push(
          some(
            `${iron > 0 ? `${quantity('nutrientRate', iron)} of Fe` : 'iron'} was there to be left behind`,
            COMMON_PRACTICE,
          ),
        );
    } else
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

export function heat(r: MarkRecord): CauseDraft {
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
  // Heat burns with what lies on the leaf, in the days after the spray.
  weighRinse(r, d);
  weighLateBurn(r, d);
  if (r.kind === 'burn') d.forIt.push(some('the mark is scorched', MECHANISM));
  if (r.kind === 'blackening' && ((r.ironKgPerHa ?? 0) > 0 || r.ironInMix === true))
    d.forIt.push(some('heat makes iron darken more', HULL));
  if (r.kind === 'chlorosis') d.against.push(some('the mark is yellow, not scorched', COMMON_PRACTICE));
  return d;
}

export function surfactantWithAmmonium(r: MarkRecord): CauseDraft {
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
