import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { aroseAfter, decisive, known, round, some, strong } from '@/lib/explain/draft';
import type { CauseDraft, MarkRecord } from '@/lib/explain/causes';
import { quantity } from '@/lib/units/quantity';
import { DILUTION } from './spray-sources';

/** Within an hour most of what goes in at all goes in (UPTAKE). */
export const UPTAKE_MINUTES = 60;

/** 0.1 in of water rinses a film off; half as much thins it. Common practice, no source. */
const RINSING_MM = 2.5;

const THINNING_MM = 1;

/**
 * A haze of a dried film shows within so many days; later it would be mown or washed off. Common practice, no source.
 */
export const FILM_DAYS = 5;

export const rinsed = (r: MarkRecord): boolean => (r.waterWithin4hMm ?? 0) >= RINSING_MM;

/** Water within four hours takes away what would have dried on. */
export function weighRinse(r: MarkRecord, d: CauseDraft): void {
  if (!known(r.waterWithin4hMm, 'rain and watering in the first 4 h', d) || r.waterWithin4hMm < THINNING_MM) return;
  const text = `${r.waterWithin4hGuessed === true ? 'a watering that nobody measured' : `${quantity('water', r.waterWithin4hMm)} of water`} within 4 h rinsed the leaf`;
  d.against.push(rinsed(r) ? decisive(text, COMMON_PRACTICE) : strong(text, COMMON_PRACTICE));
}

/** A film shows as soon as it is dry: what a photo five days on doesn't show was none. */
export function weighFilmAge(r: MarkRecord, d: CauseDraft): void {
  if (aroseAfter(r) > FILM_DAYS)
    d.against.push(
      decisive(`not there ${round(aroseAfter(r))} days after: a film shows as soon as it is dry`, COMMON_PRACTICE),
    );
  else if (r.daysAfterSpray > FILM_DAYS && r.mownSinceSpray === true)
    d.against.push(some('mown since: a film would have been cut off', COMMON_PRACTICE));
}

export function weighLateBurn(r: MarkRecord, d: CauseDraft): void {
  if (aroseAfter(r) > FILM_DAYS)
    d.against.push(strong(`not there ${round(aroseAfter(r))} days after the spray, late for a burn`, DILUTION));
}

/** What a dried film asks to be done otherwise: more water, a later hour. */
export function offerSlowerDrying(r: MarkRecord, d: CauseDraft): void {
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
