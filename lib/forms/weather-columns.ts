import { IRRADIANCE_UNITS, type IrradianceUnit, toWPerM2 } from '@/lib/units/irradiance';
import { type LengthUnit, toM } from '@/lib/units/length';
import { type PressureUnit, toKPa } from '@/lib/units/pressure';
import { type SpeedUnit, toMPerS } from '@/lib/units/speed';
import { type TemperatureUnit, toC } from '@/lib/units/temperature';

/** What a column of a logger or a service may hold. `rainCounterMm` counts up and is reset now and then. */
export const COLUMN_FIELDS = [
  'airTempC', 'relHumidityPercent', 'dewPointC', 'windMPerS', 'gustMPerS', 'windFromDeg', 'rainMm', 'rainCounterMm',
  'rainChancePercent', 'solarWPerM2', 'cloudPercent', 'pressureKPa', 'leafWetMin',
] as const;
export type ColumnField = (typeof COLUMN_FIELDS)[number];

interface ColumnKind {
  readonly units: readonly string[];
  /** The canonical value. */
  readonly canonical: (value: number, unit: string) => number;
  /** What a sane reading lies within, canonical; slight overshoot of a sensor (`slack`) is taken as the limit. */
  readonly min: number;
  readonly max: number;
  readonly slack: number;
  /** How readings within an hour become one. */
  readonly gather: 'mean' | 'sum' | 'max' | 'direction' | 'counter';
}

const TEMPERATURES = ['degC', 'degF', 'K'];
const SPEEDS = ['m/s', 'km/h', 'mph', 'knot', 'ft/s'];
const RAIN = ['mm', 'cm', 'in'];
const temperature = (value: number, unit: string): number => toC({ value, unit: unit as TemperatureUnit });
const speed = (value: number, unit: string): number => toMPerS({ value, unit: unit as SpeedUnit });
const rain = (value: number, unit: string): number => toM({ value, unit: unit as LengthUnit }) * 1000;
const same = (value: number): number => value;
const percent = (value: number, unit: string): number => (unit === 'fraction' ? value * 100 : value);

/** Units, limits and gathering of each field. The limits are what sensors can report on earth: common practice, no source. */
export const COLUMN_KINDS: Readonly<Record<ColumnField, ColumnKind>> = {
  airTempC: { units: TEMPERATURES, canonical: temperature, min: -60, max: 60, slack: 0, gather: 'mean' },
  relHumidityPercent: { units: ['%', 'fraction'], canonical: percent, min: 0, max: 100, slack: 3, gather: 'mean' },
  dewPointC: { units: TEMPERATURES, canonical: temperature, min: -60, max: 45, slack: 0, gather: 'mean' },
  windMPerS: { units: SPEEDS, canonical: speed, min: 0, max: 75, slack: 0, gather: 'mean' },
  gustMPerS: { units: SPEEDS, canonical: speed, min: 0, max: 115, slack: 0, gather: 'max' },
  windFromDeg: { units: ['deg'], canonical: same, min: 0, max: 360, slack: 0, gather: 'direction' },
  rainMm: { units: RAIN, canonical: rain, min: 0, max: 400, slack: 0, gather: 'sum' },
  rainCounterMm: { units: RAIN, canonical: rain, min: 0, max: 30_000, slack: 0, gather: 'counter' },
  rainChancePercent: { units: ['%', 'fraction'], canonical: percent, min: 0, max: 100, slack: 0, gather: 'max' },
  solarWPerM2: { units: [...IRRADIANCE_UNITS], canonical: (value, unit) => toWPerM2({ value, unit: unit as IrradianceUnit }), min: 0, max: 1700, slack: 20, gather: 'mean' },
  cloudPercent: { units: ['%', 'fraction', 'okta'], canonical: (value, unit) => (unit === 'okta' ? value * 12.5 : percent(value, unit)), min: 0, max: 100, slack: 0, gather: 'mean' },
  pressureKPa: { units: ['hPa', 'kPa', 'inHg', 'mmHg'], canonical: (value, unit) => toKPa({ value, unit: unit as PressureUnit }), min: 50, max: 110, slack: 0, gather: 'mean' },
  leafWetMin: { units: ['min'], canonical: same, min: 0, max: 60, slack: 0, gather: 'sum' },
};

/** A reader of one column: the canonical value, or null where no sensor could report it. @throws RangeError on a unit the field can't have */
export function columnReader(field: ColumnField, unit: string): (value: number) => number | null {
  const { canonical, min, max, slack, units } = COLUMN_KINDS[field];
  if (!units.includes(unit)) throw new RangeError(`unit of ${field}: expected one of ${units.join(', ')}, got '${unit}'`);
  return (value) => {
    const got = canonical(value, unit);
    if (got >= min && got <= max) return got;
    if (got > max && got <= max + slack) return max;
    return got < min && got >= min - slack ? min : null;
  };
}

const UNIT_WORDS: readonly (readonly [RegExp, string])[] = [
  [/^(°|deg(rees)?)?\s*c(elsius)?$/, 'degC'], [/^(°|deg(rees)?)?\s*f(ahrenheit)?$/, 'degF'], [/^k(elvin)?$/, 'K'],
  [/^m\s*\/\s*s(ec)?$|^ms-1$|^m\s*s\^?-1$|^mps$/, 'm/s'], [/^km\s*\/\s*h(r)?$|^kmh$|^kph$|^kmph$/, 'km/h'], [/^mph$|^mi\/h(r)?$|^mp\/h$/, 'mph'], [/^kn(o)?ts?$|^kn$|^kt$/, 'knot'], [/^ft\s*\/\s*s$/, 'ft/s'],
  [/^mm(\/h(r)?)?$/, 'mm'], [/^cm$/, 'cm'], [/^in(ch(es)?)?$|^"$/, 'in'],
  [/^%$|^percent$|^pct$/, '%'], [/^w\s*\/\s*m\^?(2|²)$|^wm-2$|^w\s*m\^?-2$|^watts?\/m\^?2$/, 'W/m2'], [/^mj\s*\/\s*m\^?(2|²)(\s*\/?\s*h(r)?)?$/, 'MJ/m2/h'], [/^kj\s*\/\s*m\^?(2|²)(\s*\/?\s*h(r)?)?$/, 'kJ/m2/h'],
  [/^(ly|langley)\s*\/\s*min$/, 'langley/min'], [/^hpa$|^mbar$|^mb$|^millibars?$/, 'hPa'], [/^kpa$/, 'kPa'], [/^in\.?\s*hg$|^inhg$/, 'inHg'], [/^mm\.?\s*hg$/, 'mmHg'],
  [/^(°|deg(rees)?)$/, 'deg'], [/^min(ute)?s?$/, 'min'], [/^oktas?$|^\/8$|^8ths$/, 'okta'],
];

/** Our name of a unit as people and services write it, if the field takes it; null otherwise. */
export function unitFromText(field: ColumnField, text: string): string | null {
  const word = text.trim().toLowerCase().replaceAll('º', '°');
  const found = UNIT_WORDS.find(([pattern]) => pattern.test(word))?.[1];
  return found !== undefined && COLUMN_KINDS[field].units.includes(found) ? found : null;
}

const FIELD_WORDS: readonly (readonly [RegExp, ColumnField])[] = [
  [/dew\s*p(oin)?t|taupunkt|point de ros/, 'dewPointC'],
  [/(leaf|blatt).*(wet|nässe)|leafwet/, 'leafWetMin'],
  [/gust|(max|hi|peak)\w*\s*(wind|ws)|wind\s*(speed)?\s*(max|hi)|böe|rafale/, 'gustMPerS'],
  [/(wind|wd).*(dir|bearing|from)|winddir|^wd$|windrichtung/, 'windFromDeg'],
  [/wind|^ws\d*$|vent\b/, 'windMPerS'],
  [/(rain|precip).*(chance|prob)|^pop$/, 'rainChancePercent'],
  [/(rain|precip|niederschlag|pluie).*(day|daily|week|month|year|event|storm|total|season|cum)|(daily|weekly|monthly|yearly|event|cum\w*|total)\s*(rain|precip)/, 'rainCounterMm'],
  [/rain|precip|niederschlag|pluie|^pr$/, 'rainMm'],
  [/solar|radiation|irradiance|pyrano|global.?strahl|shortwave|^sr$|^rs$/, 'solarWPerM2'],
  [/cloud|bewölk/, 'cloudPercent'],
  [/hum|^rh$|\brh\b|feucht/, 'relHumidityPercent'],
  [/press|baro|luftdruck/, 'pressureKPa'],
  [/temp|^t$|^ta$|^tair$/, 'airTempC'],
];
const NOT_OURS = /indoor|inside|\bin (temp|hum)|soil|feels|heat\s*index|chill|wet.?bulb|apparent|humidex|\buv\b|max temp|min temp|high temp|low temp|temp\w*[\s_]*(max|min|high|low)|rain\s*rate|sea.?level|\bmsl\b|relative press|water temp|innen|boden/;

export interface ColumnGuess {
  readonly field: ColumnField;
  /** Null when the heading names no unit: the person has to say. */
  readonly unit: string | null;
  /** False when another reading of the heading is possible (pressure may be reduced to sea level). */
  readonly sure: boolean;
}

/** What a heading such as 'Outdoor Temperature (°F)' names; null when it is nothing this diary keeps. */
export function guessColumn(heading: string): ColumnGuess | null {
  const words = heading.toLowerCase().replaceAll(/[_]+/g, ' ').trim();
  const inBrackets = /[([{]([^)\]}]*)[)\]}]/.exec(words)?.[1] ?? /[,;:]\s*([^,;:]+)$/.exec(words)?.[1] ?? null;
  const name = words.replaceAll(/[([{][^)\]}]*[)\]}]/g, ' ').trim();
  if (NOT_OURS.test(name)) return null;
  const field = FIELD_WORDS.find(([pattern]) => pattern.test(name))?.[1];
  if (field === undefined) return null;
  const tail = name.split(/\s+/).at(-1) ?? '';
  const unit = (inBrackets === null ? null : unitFromText(field, inBrackets)) ?? (tail === name ? null : unitFromText(field, tail));
  const only = COLUMN_KINDS[field].units.length === 1 ? (COLUMN_KINDS[field].units[0] ?? null) : null;
  const percentOnly = field === 'relHumidityPercent' || field === 'rainChancePercent' ? '%' : null;
  const known = unit ?? only ?? percentOnly;
  const sure = known !== null && (field !== 'pressureKPa' || /abs|station/.test(name)) && field !== 'rainCounterMm';
  return { field, unit: known, sure };
}
