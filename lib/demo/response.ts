/**
 * How the demo's turf answers a spray: invented, for the demo only. Iron acts within days and fades with mowing;
 * nitrogen comes later and lasts longer. Both are pulses t/τ · exp(1 - t/τ), which reach 1 after τ days.
 */
export interface Dose {
  /** Days of the trial, 0 at the first photo. */
  readonly atDay: number;
  readonly ironKgPerHa: number;
  readonly nitrogenKgPerHa: number;
}

const IRON_PEAK_DAYS = 4;
const NITROGEN_PEAK_DAYS = 8;
/** Rise of the dark green colour index at the peak: for iron with diminishing returns, for nitrogen by the kilogram. */
const IRON_MOST_DGCI = 0.07;
const IRON_HALF_KG_PER_HA = 1.5;
const NITROGEN_DGCI_PER_KG_PER_HA = 0.008;
const SPRING_DGCI_PER_DAY = 0.0008;

function pulse(days: number, peakDays: number): number {
  return days <= 0 ? 0 : (days / peakDays) * Math.exp(1 - days / peakDays);
}

/** Rise of the dark green colour index over the unsprayed turf of the same day, 0 and up. */
export function gainAgainstCheck(doses: readonly Dose[], day: number): number {
  let gain = 0;
  for (const dose of doses) {
    const iron = (IRON_MOST_DGCI * dose.ironKgPerHa) / (dose.ironKgPerHa + IRON_HALF_KG_PER_HA);
    gain += iron * pulse(day - dose.atDay, IRON_PEAK_DAYS);
    gain += NITROGEN_DGCI_PER_KG_PER_HA * dose.nitrogenKgPerHa * pulse(day - dose.atDay, NITROGEN_PEAK_DAYS);
  }
  return gain;
}

/** Rise of the dark green colour index of unsprayed turf since day 0, as spring warms. */
export function springGain(day: number): number {
  return SPRING_DGCI_PER_DAY * Math.max(0, day);
}

/** How much of a silvery haze is left, 1 fresh .. 0 grown out. */
export function hazeLeft(daysSinceSpray: number): number {
  return daysSinceSpray <= 0 ? 0 : Math.exp(-Math.max(0, daysSinceSpray - 1) / 3.2);
}
