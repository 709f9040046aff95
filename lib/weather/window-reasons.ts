import { COMMON_PRACTICE } from '@/lib/units/common-practice';
import { HOUR_MS } from '@/lib/units/time';
import { missingWords } from './drying';
import type { UnitSystem } from '@/lib/units/display';
import { fromM } from '@/lib/units/length';
import { fromMPerS } from '@/lib/units/speed';
import { fromC, fromDifferenceC } from '@/lib/units/temperature';
import { DELTA_T_SOURCE, deltaTC, deltaTClass } from '@/lib/weather/delta-t';
import type { DryingResult } from '@/lib/weather/drying';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { hourStartOf } from '@/lib/weather/hour';
import { LEAF_WETNESS_RULE, leafWetHour } from '@/lib/weather/leaf-wetness';
import { atmosphericPressureKPa } from '@/lib/weather/pressure';
import { rainBetween } from '@/lib/weather/rain-since';
import type { SunDay } from '@/lib/weather/sun-times';
import { windOfHourAt2mMPerS } from '@/lib/weather/wind';
import { type Reason, type WindowLimits } from '@/lib/weather/window-limits';

const SOURCES = {
  drying: `${COMMON_PRACTICE} for the minutes; uptake nearly stops once droplets are dry, 24-67% of foliar urea went in within 1 h (Stiegler, Richardson & Karcher 2011, Crop Sci. 51:1253)`,
  wind: 'pesticidestewardship.org, where the label says nothing; the label wins; calm air may mean an inversion',
  rain: 'uptake of foliar N done by 4 to 6 h (Henning, Mulvaney & Branham 2013, Crop Sci.); no rainfast time for iron was found; the label wins',
} as const;

const digits = (value: number, places: number): string => value.toFixed(places);

// Sentences and limits speak the reader's units; `value` and `unit` of a reason stay canonical.
const speedText = (mPerS: number, units: UnitSystem): string =>
  units === 'metric' ? `${digits(mPerS, 1)} m/s` : `${digits(fromMPerS(mPerS, 'mph').value, 1)} mph`;
const tempText = (tempC: number, units: UnitSystem, places = 1): string =>
  units === 'metric' ? `${digits(tempC, places)} °C` : `${digits(fromC(tempC, 'degF').value, 0)} °F`;
const gapText = (gapC: number, units: UnitSystem, places = 1): string =>
  units === 'metric' ? `${digits(gapC, places)} °C` : `${digits(fromDifferenceC(gapC, 'degF').value, 0)} °F`;
const rainText = (mm: number, units: UnitSystem, places = 1): string =>
  units === 'metric' ? `${digits(mm, places)} mm` : `${digits(fromM(mm / 1000, 'in').value, 2)} in`;

/** Whether the film stays wet long enough, and not too long. */
export function dryingReason(result: DryingResult, limits: WindowLimits): Reason {
  const base = {
    topic: 'drying',
    unit: 'min',
    limit: `${limits.goodWetMin} to ${limits.longestWetMin} min wet; under ${limits.leastWetMin} min unsuitable`,
    source: SOURCES.drying,
  } as const;
  if (result.kind === 'unknown')
    return {
      ...base,
      verdict: 'unknown',
      value: null,
      sentence: `Drying time unknown: ${missingWords(result.missing)} missing.`,
    };
  if (result.kind === 'rained-on')
    return {
      ...base,
      verdict: 'unsuitable',
      value: result.minutes,
      sentence: `Rain would reach the film after ${digits(result.minutes, 0)} min, before it is dry.`,
    };
  if (result.kind === 'does-not-dry')
    return {
      ...base,
      verdict: 'doubtful',
      value: null,
      sentence: 'The film would not dry within the hours looked at: dew or damp, still air.',
    };
  const { minutes } = result;
  const verdict =
    minutes < limits.leastWetMin
      ? 'unsuitable'
      : minutes < limits.goodWetMin || minutes > limits.longestWetMin
        ? 'doubtful'
        : 'suitable';
  const how =
    minutes < limits.goodWetMin
      ? 'dries too soon'
      : minutes > limits.longestWetMin
        ? 'stays wet long, which favours disease'
        : 'stays wet long enough';
  return { ...base, verdict, value: minutes, sentence: `The film ${how}: about ${digits(minutes, 0)} min.` };
}

/** Whether drops would dry in the air (high) or live long (low). */
export function deltaTReason(hour: WeatherHour | undefined, place: WeatherPlace, units: UnitSystem = 'metric'): Reason {
  const base = {
    topic: 'delta-t',
    unit: '°C',
    limit: `${gapText(2, units, 0)} to ${gapText(8, units, 0)}; to ${gapText(10, units, 0)} marginal`,
    source: DELTA_T_SOURCE,
  } as const;
  if (hour === undefined || hour.airTempC === null || hour.relHumidityPercent === null)
    return { ...base, verdict: 'unknown', value: null, sentence: 'Delta T unknown: temperature or humidity missing.' };
  const value = deltaTC(
    hour.airTempC,
    hour.relHumidityPercent,
    hour.pressureKPa ?? atmosphericPressureKPa(place.elevationM),
  );
  const kind = deltaTClass(value);
  const verdict = kind === 'suitable' ? 'suitable' : kind === 'high' ? 'unsuitable' : 'doubtful';
  const word = {
    low: 'low: droplets live long, dew or an inversion is likely',
    suitable: 'suitable',
    marginal: 'marginal: droplets shrink fast',
    high: 'too high: droplets dry in the air',
  }[kind];
  return { ...base, verdict, value, sentence: `Delta T (air less wet bulb) of ${gapText(value, units)} is ${word}.` };
}

/** Wind at 2 m, and gusts where they are known. */
export function windReasons(
  hour: WeatherHour | undefined,
  limits: WindowLimits,
  units: UnitSystem = 'metric',
): Reason[] {
  const base = {
    topic: 'wind',
    unit: 'm/s',
    limit: `${speedText(limits.calmMPerS, units)} to ${speedText(limits.goodWindMPerS, units)}; above ${speedText(limits.mostWindMPerS, units)} unsuitable`,
    source: SOURCES.wind,
  } as const;
  const wind = hour === undefined ? null : windOfHourAt2mMPerS(hour);
  if (hour === undefined || wind === null)
    return [{ ...base, verdict: 'unknown', value: null, sentence: 'Wind unknown.' }];
  const verdict =
    wind > limits.mostWindMPerS
      ? 'unsuitable'
      : wind > limits.goodWindMPerS || wind < limits.calmMPerS
        ? 'doubtful'
        : 'suitable';
  const word =
    wind < limits.calmMPerS
      ? 'calm: look for an inversion (smoke or mist that hangs)'
      : verdict === 'suitable'
        ? 'suitable'
        : 'strong: drift';
  const reasons: Reason[] = [{ ...base, verdict, value: wind, sentence: `Wind ${speedText(wind, units)} is ${word}.` }];
  const gust = windOfHourAt2mMPerS(hour, 'gust');
  if (gust !== null) {
    const limit = limits.mostWindMPerS * 1.5;
    reasons.push({
      topic: 'gust',
      verdict: gust > limit ? 'doubtful' : 'suitable',
      value: gust,
      unit: 'm/s',
      limit: `gusts to ${speedText(limit, units)}`,
      source: COMMON_PRACTICE,
      sentence: `Gusts of ${speedText(gust, units)}.`,
    });
  }
  return reasons;
}

/** Temperature now, and the highest of the hours given ahead. */
export function temperatureReasons(
  hour: WeatherHour | undefined,
  ahead: readonly WeatherHour[],
  limits: WindowLimits,
  units: UnitSystem = 'metric',
): Reason[] {
  const unit = '°C';
  const base = {
    topic: 'temperature',
    unit,
    limit: `${tempText(limits.goodMinTempC, units, 0)} to ${tempText(limits.goodMaxTempC, units)}; below ${tempText(limits.leastTempC, units, 0)} or above ${tempText(limits.mostTempC, units)} unsuitable`,
    source: COMMON_PRACTICE,
  } as const;
  const reasons: Reason[] = [];
  const value = hour?.airTempC ?? null;
  if (value === null) reasons.push({ ...base, verdict: 'unknown', value: null, sentence: 'Temperature unknown.' });
  else {
    const verdict =
      value > limits.mostTempC || value < limits.leastTempC
        ? 'unsuitable'
        : value > limits.goodMaxTempC || value < limits.goodMinTempC
          ? 'doubtful'
          : 'suitable';
    const word =
      verdict === 'suitable' ? 'suitable' : value > limits.goodMaxTempC ? 'hot: risk of burn' : 'cold: slow uptake';
    reasons.push({ ...base, verdict, value, sentence: `${tempText(value, units)} is ${word}.` });
  }
  const known = ahead.map((one) => one.airTempC).filter((temp) => temp !== null);
  if (known.length > 0) {
    const max = Math.max(...known);
    reasons.push({
      topic: 'heat-ahead',
      unit,
      value: max,
      verdict: max > limits.mostTempC ? 'doubtful' : 'suitable',
      limit: `at most ${tempText(limits.mostTempC, units)} within 24 h`,
      source: COMMON_PRACTICE,
      sentence: `Up to ${tempText(max, units)} in the ${known.length} h known ahead${max > limits.mostTempC ? ': iron and salts may burn' : ''}.`,
    });
  }
  return reasons;
}

/** Rain, or a likely chance of it, after the spray ends. */
export function rainReason(
  hours: readonly WeatherHour[],
  endUtcMs: number,
  limits: WindowLimits,
  units: UnitSystem = 'metric',
): Reason {
  const base = {
    topic: 'rain-ahead',
    unit: 'mm',
    limit: `under ${rainText(limits.rainMm, units, 2)} within ${limits.rainDoubtfulHours} h`,
    source: SOURCES.rain,
  } as const;
  const soon = rainBetween(hours, endUtcMs, endUtcMs + limits.rainUnsuitableHours * HOUR_MS);
  const later = rainBetween(hours, endUtcMs, endUtcMs + limits.rainDoubtfulHours * HOUR_MS);
  const chances = hours
    .filter(
      (hour) =>
        hour.hourStartUtcMs >= hourStartOf(endUtcMs) &&
        hour.hourStartUtcMs < endUtcMs + limits.rainUnsuitableHours * HOUR_MS,
    )
    .map((hour) => hour.rainChancePercent ?? 0);
  const chance = Math.max(0, ...chances);
  const value = later.rainMm;
  if (soon.rainMm >= limits.rainMm)
    return {
      ...base,
      verdict: 'unsuitable',
      value,
      sentence: `${rainText(soon.rainMm, units)} of rain within ${limits.rainUnsuitableHours} h.`,
    };
  if (value >= limits.rainMm)
    return {
      ...base,
      verdict: 'doubtful',
      value,
      sentence: `${rainText(value, units)} of rain within ${limits.rainDoubtfulHours} h.`,
    };
  if (later.hoursUnknown > 0)
    return {
      ...base,
      verdict: 'unknown',
      value: null,
      sentence: `Rain unknown for ${digits(later.hoursUnknown, 0)} of the ${limits.rainDoubtfulHours} h ahead.`,
    };
  if (chance >= limits.rainChancePercent)
    return {
      ...base,
      verdict: 'doubtful',
      value,
      sentence: `A ${digits(chance, 0)}% chance of rain within ${limits.rainUnsuitableHours} h.`,
    };
  return { ...base, verdict: 'suitable', value, sentence: `No rain to speak of within ${limits.rainDoubtfulHours} h.` };
}

/** Whether the leaves are wet already. */
export function leafWetReason(hour: WeatherHour | undefined): Reason {
  const base = {
    topic: 'leaf-wet',
    unit: '%',
    limit: 'leaves dry at the start',
    source: LEAF_WETNESS_RULE,
    value: hour?.relHumidityPercent ?? null,
  } as const;
  const wet = hour === undefined ? null : leafWetHour(hour);
  if (wet === null) return { ...base, verdict: 'unknown', sentence: 'Whether the leaves are wet is unknown.' };
  return {
    ...base,
    verdict: wet ? 'doubtful' : 'suitable',
    sentence: wet ? 'The leaves are wet: the spray is thinned and may run off.' : 'The leaves are dry by the rule.',
  };
}

/** Whether there is light to work by, with the minutes left to sunset. */
export function lightReason(startUtcMs: number, endUtcMs: number, sun: SunDay): Reason {
  const base = {
    topic: 'light',
    unit: 'min',
    limit: 'between sunrise and sunset; civil twilight doubtful',
    source: COMMON_PRACTICE,
  } as const;
  const { kind } = sun.sun;
  if (kind === 'always-above')
    return { ...base, verdict: 'suitable', value: null, sentence: 'The sun does not set today.' };
  const within = (events: SunDay['sun']): boolean =>
    events.kind === 'always-above' ||
    (events.kind === 'rises-and-sets' && startUtcMs >= events.riseUtcMs && endUtcMs <= events.setUtcMs);
  const minutesLeft = sun.sun.kind === 'rises-and-sets' ? (sun.sun.setUtcMs - startUtcMs) / 60_000 : null;
  if (within(sun.sun))
    return {
      ...base,
      verdict: 'suitable',
      value: minutesLeft,
      sentence: `${digits(minutesLeft ?? 0, 0)} min to sunset.`,
    };
  if (within(sun.civilTwilight))
    return { ...base, verdict: 'doubtful', value: minutesLeft, sentence: 'Partly in twilight.' };
  return {
    ...base,
    verdict: 'unsuitable',
    value: minutesLeft,
    sentence: 'Dark for some of the time: one cannot see where one sprays.',
  };
}
