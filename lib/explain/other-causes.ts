import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { aroseAfter, decisive, draft, round, some, strong } from '@/lib/explain/draft';
import type { Cause, CauseDraft, MarkRecord } from '@/lib/explain/causes';
import { heatLimits } from '@/lib/spray/grass-season';
import { MARK_KINDS } from '@/lib/photo/marks/kind';
import { quantity } from '@/lib/units/quantity';
import { DEW_HOURS } from '@/lib/weather/leaf-wetness';

const RECORD = 'the record';
/** Torn tips dry grey within a day or two. */
const MOWER_DAYS = 3;
/** Mowings without a word of sharpening from which a dull blade is to be thought of. */
const MOWINGS_WITHOUT_SHARPENING = 3;
/** A blade is sharpened two or three times a season: extension services, common practice. */
const SHARP_DAYS = 60;
/** Never more than a third at once: the rule of thumb of every extension service. */
const MOST_CUT_SHARE = 1 / 3;
/**
 * Easily used water of turf: 0.4 of about 150 mm of roots in soil that holds 13 to 17 %, some 10 mm; twice that is
 * drought. FAO-56 ch. 8, values from memory.
 */
const EASY_WATER_MM = 10;
const WATER_SOURCE =
  'FAO-56 chapter 8 (readily available water; depletion share and rooting depth of turf from memory)';
/** Hours of wet leaf a day from which leaf disease is to be thought of: 10 (trade texts on mildew and spots). */
const WET_HOURS_PER_DAY = 10;
const DISEASE_SOURCE = 'extension texts on turf disease (some 10 h of wet leaf on successive days)';
/** Pigment-stopping herbicides bleach new growth for so long. */
const BLEACH_DAYS = 28;
/** Sooner than this it doesn't show: leaves whiten some five days after. Common practice, no source. */
const BLEACH_FIRST_DAYS = 4;
const SIGHTING_DAYS = 21;
const DUST_DAYS = 7;
/** Rain that washes dust off, mm. */
const WASHING_MM = 2;

const days = (value: number): string =>
  value < 0.75 ? 'less than a day' : value < 1.5 ? 'a day' : `${round(value, 0)} days`;

/** What the lawn as a whole suffers shows on an unsprayed check too. */
function weighCheck(r: MarkRecord, d: CauseDraft, lawnWide: boolean): void {
  if (r.alsoOnCheck === true) d.forIt.push(strong('the unsprayed check shows the like', 'the photos'));
  else if (r.alsoOnCheck === false)
    d.against.push(
      lawnWide
        ? strong('the unsprayed check does not show it', 'the photos')
        : some('the unsprayed check does not show it', 'the photos'),
    );
}

function mower(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.mowingsKnown === 0 && r.wheelsDaysBefore === null) {
    d.notWeighed = 'no mowing is written down';
    return d;
  }
  if (r.mownDaysBefore !== null && r.mownDaysBefore <= MOWER_DAYS) {
    d.forIt.push(
      some(`mown ${days(r.mownDaysBefore)} before the photo; torn tips dry grey within a day or two`, COMMON_PRACTICE),
    );
    if (r.sharpenedDaysBefore === null && r.mowingsKnown >= MOWINGS_WITHOUT_SHARPENING)
      d.forIt.push(some(`no sharpening is written down in ${r.mowingsKnown} mowings`, COMMON_PRACTICE));
    if ((r.sharpenedDaysBefore ?? 0) > SHARP_DAYS && r.mowingsKnown >= MOWINGS_WITHOUT_SHARPENING)
      d.forIt.push(some(`the blade was last sharpened ${days(r.sharpenedDaysBefore ?? 0)} before`, COMMON_PRACTICE));
  } else
    d.against.push(
      strong(
        r.mownDaysBefore === null ? 'no mowing in the ten days before' : `last mown ${days(r.mownDaysBefore)} before`,
        COMMON_PRACTICE,
      ),
    );
  if (r.sharpenedDaysBefore !== null && r.sharpenedDaysBefore <= 14)
    d.against.push(strong(`the blade was sharpened ${days(r.sharpenedDaysBefore)} before`, COMMON_PRACTICE));
  if (r.cutLowerShare !== null && r.cutLowerShare > MOST_CUT_SHARE)
    d.forIt.push(
      strong(
        `cut ${round(r.cutLowerShare * 100, 0)}% lower than the time before: more than a third scalps`,
        'rule of a third (extension services, common practice)',
      ),
    );
  if (r.wheelsDaysBefore !== null && r.wheelsDaysBefore <= MOWER_DAYS)
    d.forIt.push(strong(`wheels went over it ${days(r.wheelsDaysBefore)} before`, RECORD));
  weighCheck(r, d, false);
  return d;
}

function drought(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.droughtSeenDaysBefore !== null && r.droughtSeenDaysBefore <= SIGHTING_DAYS)
    d.forIt.push(strong(`drought was seen ${days(r.droughtSeenDaysBefore)} before`, RECORD));
  if (r.etSinceWaterMm === null) {
    d.unknown.push('rain, watering and weather of the week before');
    if (d.forIt.length === 0) {
      d.notWeighed = 'the week’s rain, watering or weather is not on record';
      return d;
    }
  } else {
    const text = `${quantity('water', r.etSinceWaterMm)} evaporated since the last ${quantity('water', 5)} of water${r.wateringKnown ? '' : ' (waterings are not written down, so there may have been some)'}`;
    if (r.etSinceWaterMm >= 2 * EASY_WATER_MM)
      d.forIt.push(r.wateringKnown ? strong(text, WATER_SOURCE) : some(text, WATER_SOURCE));
    else if (r.etSinceWaterMm >= EASY_WATER_MM) d.forIt.push(some(text, WATER_SOURCE));
    else d.against.push(strong(text, WATER_SOURCE));
  }
  const { warmC, source } = heatLimits(r.grassSeason);
  if ((r.maxTempNext24hC ?? -Infinity) >= warmC)
    d.forIt.push(some(`up to ${quantity('temperature', r.maxTempNext24hC ?? 0)}`, source));
  // Dry spots are patchy: a check that is spared says nothing.
  if (r.alsoOnCheck === true) weighCheck(r, d, false);
  return d;
}

function dewOrFrost(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.photoHoursAfterSunrise === null) {
    d.notWeighed = 'the lawn’s place is not known, so the photo’s hour can’t be held against sunrise';
    return d;
  }
  const hour = `the photo was taken ${round(Math.abs(r.photoHoursAfterSunrise))} h ${r.photoHoursAfterSunrise < 0 ? 'before' : 'after'} sunrise`;
  if (r.photoHoursAfterSunrise > DEW_HOURS) d.against.push(decisive(hour, COMMON_PRACTICE));
  else d.forIt.push(some(hour, COMMON_PRACTICE));
  if (r.leafWetAtPhoto === null) d.unknown.push('whether the leaves were wet then');
  else if (r.leafWetAtPhoto)
    d.forIt.push(
      r.photoHoursAfterSunrise <= DEW_HOURS
        ? strong(
            'the leaves were wet then by the weather hours',
            'Sentelhas et al. 2008 (humidity of 90 % or more), from memory',
          )
        : some('the leaves were wet then by the weather hours', 'Sentelhas et al. 2008, from memory'),
    );
  else
    d.against.push(
      strong(
        'the leaves were dry then by the weather hours',
        'Sentelhas et al. 2008 (humidity below 90 %), from memory',
      ),
    );
  if (r.nightMinTempC !== null && r.nightMinTempC <= 1)
    d.forIt.push(
      strong(
        `the night went down to ${quantity('temperature', r.nightMinTempC)}: frost`,
        'air a degree above freezing means frost on a leaf in a clear night (common practice)',
      ),
    );
  if (r.seenAfterDew === true)
    d.against.push(
      decisive(`another photo, more than ${DEW_HOURS} h after a sunrise, shows the same patch`, 'the photos'),
    );
  weighCheck(r, d, true);
  return d;
}

function leafDisease(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.diseaseSeenDaysBefore !== null && r.diseaseSeenDaysBefore <= SIGHTING_DAYS)
    d.forIt.push(strong(`disease was seen here ${days(r.diseaseSeenDaysBefore)} before`, RECORD));
  if (r.wetHoursPerDay !== null) {
    const text = `the leaves were wet for about ${round(r.wetHoursPerDay, 0)} h a day`;
    if (r.wetHoursPerDay >= WET_HOURS_PER_DAY) d.forIt.push(some(text, DISEASE_SOURCE));
    else d.against.push(some(text, DISEASE_SOURCE));
  } else d.unknown.push('hours of wet leaf');
  if (d.forIt.length === 0 && !r.sightingsKnown) {
    d.notWeighed =
      r.wetHoursPerDay === null
        ? 'no disease seen and no leaf wetness is on record'
        : 'nobody writes down what is seen on the lawn, and the weather was not a disease’s';
    return d;
  }
  if (d.forIt.length > 0 || r.sightingsKnown) weighCheck(r, d, false);
  return d;
}

function mites(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.insectsSeenDaysBefore !== null && r.insectsSeenDaysBefore <= SIGHTING_DAYS)
    d.forIt.push(
      strong(`insects or mites were seen here ${days(r.insectsSeenDaysBefore)} before`, RECORD),
      some('stippled leaves look silvery', COMMON_PRACTICE),
    );
  else if (!r.sightingsKnown) {
    d.notWeighed = 'nobody writes down insects and mites seen';
    return d;
  } else d.against.push(some('no insects or mites are written down as seen', RECORD));
  if ((r.etSinceWaterMm ?? 0) >= 2 * EASY_WATER_MM)
    d.forIt.push(some('dry weather, which mites like', COMMON_PRACTICE));
  weighCheck(r, d, false);
  return d;
}

function herbicideBleaching(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.weedControlDaysBefore !== null && r.weedControlDaysBefore < BLEACH_FIRST_DAYS) {
    d.against.push(
      strong(
        `a weed killer went out only ${days(r.weedControlDaysBefore)} before: leaves whiten after some five days`,
        COMMON_PRACTICE,
      ),
    );
    return d;
  }
  if (r.weedControlDaysBefore !== null && r.weedControlDaysBefore <= BLEACH_DAYS) {
    d.forIt.push(
      strong(`a weed killer went out ${days(r.weedControlDaysBefore)} before`, RECORD),
      some('the mark is pale, as bleached leaves are', COMMON_PRACTICE),
    );
    return d;
  }
  if (!r.productsKnown) {
    d.notWeighed = 'nobody writes down weed killers';
    return d;
  }
  d.against.push(strong(`no weed killer is written down in the ${BLEACH_DAYS} days before`, RECORD));
  return d;
}

function dust(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.dustDaysBefore === null && !r.trafficKnown) {
    d.notWeighed = 'no topdressing, lime, works or traffic is written down';
    return d;
  }
  if (r.dustDaysBefore !== null && r.dustDaysBefore <= DUST_DAYS)
    d.forIt.push(
      strong(`topdressed, limed or aerated ${days(r.dustDaysBefore)} before`, RECORD),
      some('dust on the leaf is pale', COMMON_PRACTICE),
    );
  else d.against.push(some('nothing that makes dust is written down', RECORD));
  if (r.rainSinceSprayMm !== null && r.rainSinceSprayMm >= WASHING_MM && (r.dustDaysBefore ?? Infinity) > 1)
    d.against.push(
      strong(`${quantity('water', r.rainSinceSprayMm)} of rain since would have washed it off`, COMMON_PRACTICE),
    );
  weighCheck(r, d, false);
  return d;
}

function notTheSpray(r: MarkRecord): CauseDraft {
  const d = draft();
  if (r.seenBeforeSpray === true)
    d.forIt.push(decisive('a photo from before the spray shows it already', 'the photos'));
  // That it is new says when it came, not from what: it weighs neither way.
  else if (r.seenBeforeSpray === null) d.unknown.push('a photo from before the spray');
  if (r.alsoOnCheck === true) d.forIt.push(decisive('the unsprayed check shows the like', 'the photos'));
  else if (r.alsoOnCheck === false && r.seenBeforeSpray !== true)
    d.against.push(strong('the unsprayed check does not show it', 'the photos'));
  else if (r.alsoOnCheck === false) d.unknown.push('what the treated plot had before that the check had not');
  else d.unknown.push('an unsprayed check in the same photo');
  if (aroseAfter(r) <= 5 && r.daysAfterSpray > 5)
    d.unknown.push(
      `when it arose: no photo lies between ${aroseAfter(r) === 0 ? 'the spray' : `day ${round(aroseAfter(r))}`} and day ${round(r.daysAfterSpray)}`,
    );
  if (aroseAfter(r) > 5)
    d.forIt.push(
      strong(
        `not there ${round(aroseAfter(r))} days after the spray, late for a burn`,
        'Agnew & Moore 1989 (burn rated 4 days after); Hull 2000 (darkening appears fast)',
      ),
    );
  if (r.kind === 'chlorosis' || r.kind === 'other')
    d.forIt.push(
      some(
        r.kind === 'chlorosis'
          ? 'yellowing has many reasons: hunger, wet feet, disease'
          : 'the mark has none of the known colours',
        COMMON_PRACTICE,
      ),
    );
  return d;
}

/** The causes that lie elsewhere: each is weighed from what the diary holds, or said not to be weighed. */
// prettier-ignore
export const OTHER_CAUSES: readonly Cause[] = [
  { cause: 'mower', title: 'The mower: dull blade, wheels or scalping', kinds: ['silver', 'burn', 'other'], look: 'Look at the leaf tips through a lens: torn and white speaks for a dull blade, a clean cut against it. Stripes as wide as the mower or its wheels tell too.', weigh: mower },
  { cause: 'drought', title: 'Drought, leaves folded', kinds: ['silver', 'burn', 'other'], look: 'Step on it: footprints that stay, leaves folded or rolled, and a screwdriver that won’t go in speak for it. Water half of it and look in the evening.', weigh: drought },
  { cause: 'dew-or-frost', title: 'Dew, guttation or frost in the photo', kinds: ['silver'], look: 'Photograph it again after midday: water and frost are gone by then.', weigh: dewOrFrost },
  { cause: 'leaf-disease', title: 'A leaf disease', kinds: ['silver', 'burn', 'chlorosis', 'other'], look: 'Look through a lens for white dust, threads in the morning dew, or spots with a dark rim; watch whether the patch grows over the next days.', weigh: leafDisease },
  { cause: 'mites', title: 'Mites or other sucking pests', kinds: ['silver', 'chlorosis', 'other'], look: 'Beat the grass over white paper and look for crawling specks; stippled leaves, not a film, speak for them.', weigh: mites },
  { cause: 'herbicide-bleaching', title: 'Bleached by a weed killer', kinds: ['silver', 'chlorosis'], look: 'Look where the white sits: inside the newest leaves speaks for it, on top of the leaf against it.', weigh: herbicideBleaching },
  { cause: 'dust', title: 'Dust', kinds: ['silver', 'other'], look: 'Wipe a leaf with a white cloth; look whether it is worst along a road or path.', weigh: dust },
  { cause: 'not-the-spray', title: 'Something other than the spray', kinds: MARK_KINDS, look: 'Look whether the edges follow your passes; a patch that crosses into unsprayed ground has another reason.', weigh: notTheSpray },
];
