import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { aroseAfter, decisive, draft, known, round, some, strong } from '@/lib/explain/draft';
import type { CauseDraft, DryingYardstick, MarkRecord } from '@/lib/explain/causes';
import { IRON_DARKENS_KG_PER_HA, IRON_DIEBACK_KG_PER_HA } from '@/lib/spray/burn-checks';
import { heatLimits } from '@/lib/spray/grass-season';
import { quantity } from '@/lib/units/quantity';
import { RECORD, HULL, UPTAKE, LABEL, DIEBACK } from './spray-sources';
import { rinsed, UPTAKE_MINUTES, offerSlowerDrying, FILM_DAYS, weighFilmAge, weighRinse } from './film-on-leaf';
import { WINDY_M_PER_S } from './drift-and-overlap';

function offerLessIron(r: MarkRecord, d: CauseDraft): void {
  if (r.ironKgPerHa !== null && r.ironKgPerHa > 0)
    d.whatIf.push({
      id: 'half-the-iron',
      text: `Half the iron: ${quantity('nutrientRate', r.ironKgPerHa / 2)} of Fe instead of ${quantity('nutrientRate', r.ironKgPerHa)}`,
      change: { ironFactor: 0.5 },
    });
}

/** Iron greens: what is yellow is not its doing, however much of it there was. */
function weighYellow(r: MarkRecord, d: CauseDraft): void {
  if (r.kind === 'chlorosis')
    d.against.push(decisive('the mark is yellow, and iron greens', 'Yust, Wehner & Fermanian 1984'));
}

/** What iron does shows within days: a plot still clean after them was not marked by it. */
function weighLateIron(r: MarkRecord, d: CauseDraft): void {
  if (aroseAfter(r) > FILM_DAYS)
    d.against.push(decisive(`not there ${round(aroseAfter(r))} days after the spray, and iron darkens fast`, HULL));
}

/** Iron that stayed on the leaf instead of going in: a silvery haze, or a dark cast; the two are faces of one thing. */
export function ironOnLeaf(r: MarkRecord, yardstick: DryingYardstick): CauseDraft {
  const d = draft();
  if (!known(r.ironKgPerHa, 'iron rate', d) && r.ironInMix !== true) return d;
  if (r.ironKgPerHa === 0) {
    d.against.push(decisive('no iron was sprayed', RECORD));
    return d;
  }
  const rate =
    r.ironKgPerHa === null
      ? 'iron was in the mix, at a rate that is not known'
      : `iron was in the mix, ${quantity('nutrientRate', r.ironKgPerHa)} of Fe`;
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
  if (!isRinsed && r.labelMaxIronKgPerHa !== null && (r.ironKgPerHa ?? 0) >= 0.9 * r.labelMaxIronKgPerHa)
    d.forIt.push(
      some(
        `the iron was ${(r.ironKgPerHa ?? 0) > 1.001 * r.labelMaxIronKgPerHa ? 'above' : 'at'} the label's most, ${quantity('nutrientRate', r.labelMaxIronKgPerHa)} of Fe`,
        LABEL,
      ),
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
  weighYellow(r, d);
  return d;
}

/** From so many times the label's most on, the rate by itself is reason enough. Our own line, no source. */
const FAR_OVER_LABEL = 1.5;

export function tooMuchIron(r: MarkRecord): CauseDraft {
  const d = draft();
  if (known(r.ironKgPerHa, 'iron rate', d)) {
    const rate = `${quantity('nutrientRate', r.ironKgPerHa)} of Fe`;
    if (r.labelMaxIronKgPerHa !== null) {
      const share = r.ironKgPerHa / r.labelMaxIronKgPerHa;
      if (share > 1.001)
        d.forIt.push(
          (share >= FAR_OVER_LABEL ? decisive : strong)(
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
  weighYellow(r, d);
  if (r.overlapShare !== null && r.overlapShare > 0.05)
    d.forIt.push(some(`${round(r.overlapShare * 100, 0)}% of the plot was covered twice and got double`, RECORD));
  weighRinse(r, d);
  weighLateIron(r, d);
  return d;
}

export function ironTooSoon(r: MarkRecord): CauseDraft {
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
  weighLateIron(r, d);
  if (r.kind === 'blackening') d.forIt.push(some('the mark is dark, as iron on the leaf shows', HULL));
  weighYellow(r, d);
  return d;
}
