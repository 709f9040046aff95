import { IRRADIANCE_UNITS, type IrradianceUnit, toWPerM2 } from '@/lib/units/irradiance';
import { type LengthUnit, toM } from '@/lib/units/length';
import { type PressureUnit, toKPa } from '@/lib/units/pressure';
import { type SpeedUnit, toMPerS } from '@/lib/units/speed';
import { type TemperatureUnit, toC } from '@/lib/units/temperature';

/** What a column of a logger or a service may hold. `rainCounterMm` counts up and is reset now and then. */
export const COLUMN_FIELDS = [
  'airTempC',
  'relHumidityPercent',
  'dewPointC',
  'windMPerS',
  'gustMPerS',
  'windFromDeg',
  'rainMm',
  'rainCounterMm',
  'rainChancePercent',
  'solarWPerM2',
  'cloudPercent',
  'pressureKPa',
  'leafWetMin',
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
/** Rain as a rate: averaged over the hour, where an amount is summed. */
const RAIN_RATES = ['mm/h', 'in/h'];
/** Sun as energy in each row's own interval; a row of an hour by itself reads like the unit per hour. */
const ROW_ENERGIES = ['MJ/m2', 'kJ/m2', 'Wh/m2'];
const temperature = (value: number, unit: string): number => toC({ value, unit: unit as TemperatureUnit });
const speed = (value: number, unit: string): number => toMPerS({ value, unit: unit as SpeedUnit });
const rain = (value: number, unit: string): number => toM({ value, unit: unit.replace('/h', '') as LengthUnit }) * 1000;
const sun = (value: number, unit: string): number =>
  unit === 'Wh/m2'
    ? value
    : toWPerM2({ value, unit: (ROW_ENERGIES.includes(unit) ? `${unit}/h` : unit) as IrradianceUnit });
const same = (value: number): number => value;
const percent = (value: number, unit: string): number => (unit === 'fraction' ? value * 100 : value);

/**
 * Units, limits and gathering of each field. The limits are what sensors can report on earth: common practice, no
 * source.
 */
// prettier-ignore
export const COLUMN_KINDS: Readonly<Record<ColumnField, ColumnKind>> = {
  airTempC: { units: TEMPERATURES, canonical: temperature, min: -60, max: 60, slack: 0, gather: 'mean' },
  relHumidityPercent: { units: ['%', 'fraction'], canonical: percent, min: 0, max: 100, slack: 3, gather: 'mean' },
  dewPointC: { units: TEMPERATURES, canonical: temperature, min: -60, max: 45, slack: 0, gather: 'mean' },
  windMPerS: { units: SPEEDS, canonical: speed, min: 0, max: 75, slack: 0, gather: 'mean' },
  gustMPerS: { units: SPEEDS, canonical: speed, min: 0, max: 115, slack: 0, gather: 'max' },
  windFromDeg: { units: ['deg'], canonical: same, min: 0, max: 360, slack: 0, gather: 'direction' },
  rainMm: { units: [...RAIN, ...RAIN_RATES], canonical: rain, min: 0, max: 400, slack: 0, gather: 'sum' },
  rainCounterMm: { units: RAIN, canonical: rain, min: 0, max: 30_000, slack: 0, gather: 'counter' },
  rainChancePercent: { units: ['%', 'fraction'], canonical: percent, min: 0, max: 100, slack: 0, gather: 'max' },
  solarWPerM2: { units: [...IRRADIANCE_UNITS, ...ROW_ENERGIES], canonical: sun, min: 0, max: 1700, slack: 20, gather: 'mean' },
  cloudPercent: { units: ['%', 'fraction', 'okta'], canonical: (value, unit) => (unit === 'okta' ? value * 12.5 : percent(value, unit)), min: 0, max: 100, slack: 0, gather: 'mean' },
  pressureKPa: { units: ['hPa', 'kPa', 'inHg', 'mmHg'], canonical: (value, unit) => toKPa({ value, unit: unit as PressureUnit }), min: 50, max: 110, slack: 0, gather: 'mean' },
  leafWetMin: { units: ['min'], canonical: same, min: 0, max: 60, slack: 0, gather: 'sum' },
};

/** Whether the figure is a rate of rain, not an amount. */
export function isRainRate(unit: string): boolean {
  return RAIN_RATES.includes(unit);
}

/** Whether the figure is energy in the row's own interval. */
export function isRowEnergy(unit: string): boolean {
  return ROW_ENERGIES.includes(unit);
}

/**
 * A reader of one column: the canonical value, or null where no sensor could report it.
 * @throws RangeError on a unit the field can't have
 */
export function columnReader(field: ColumnField, unit: string): (value: number) => number | null {
  const { canonical, min, max, slack, units } = COLUMN_KINDS[field];
  if (!units.includes(unit))
    throw new RangeError(`unit of ${field}: expected one of ${units.join(', ')}, got '${unit}'`);
  return (value) => {
    const got = canonical(value, unit);
    if (got >= min && got <= max) return got;
    if (got > max && got <= max + slack) return max;
    return got < min && got >= min - slack ? min : null;
  };
}

// prettier-ignore
const UNIT_WORDS: readonly (readonly [RegExp, string])[] = [
  [/^(°|deg(rees)?)?\s*c(elsius)?$/, 'degC'], [/^(°|deg(rees)?)?\s*f(ahrenheit)?$/, 'degF'], [/^k(elvin)?$/, 'K'],
  [/^m\s*\/\s*s(ec)?$|^ms-1$|^m\s*s\^?-1$|^mps$/, 'm/s'], [/^km\s*\/\s*h(r)?$|^kmh$|^kph$|^kmph$/, 'km/h'], [/^mph$|^mi\/h(r)?$|^mp\/h$/, 'mph'], [/^kn(o)?ts?$|^kn$|^kt$/, 'knot'], [/^ft\s*\/\s*s$/, 'ft/s'],
  [/^mm$/, 'mm'], [/^mm\s*\/\s*h(r|our)?$|^mmh$/, 'mm/h'], [/^cm$/, 'cm'], [/^in(ch(es)?)?$|^"$/, 'in'], [/^in(ch(es)?)?\s*\/\s*h(r|our)?$/, 'in/h'],
  [/^%$|^percent$|^pct$/, '%'], [/^w\s*\/\s*m\^?(2|²)$|^wm-2$|^w\s*m\^?-2$|^watts?\/m\^?2$/, 'W/m2'], [/^mj\s*\/\s*m\^?(2|²)\s*\/?\s*h(r)?$/, 'MJ/m2/h'], [/^kj\s*\/\s*m\^?(2|²)\s*\/?\s*h(r)?$/, 'kJ/m2/h'],
  [/^mj\s*\/?\s*m\^?(2|²)$/, 'MJ/m2'], [/^kj\s*\/?\s*m\^?(2|²)$/, 'kJ/m2'], [/^wh\s*\/?\s*m\^?(2|²)$/, 'Wh/m2'],
  [/^(ly|langley)\s*\/\s*min$/, 'langley/min'], [/^hpa$|^mbar$|^mb$|^millibars?$/, 'hPa'], [/^kpa$/, 'kPa'], [/^in\.?\s*hg$|^inhg$/, 'inHg'], [/^mm\.?\s*hg$/, 'mmHg'],
  [/^(°|deg(rees)?)$/, 'deg'], [/^min(ute)?s?$/, 'min'], [/^oktas?$|^\/8$|^8ths$/, 'okta'],
];

/** Our name of a unit as people and services write it, if the field takes it; null otherwise. */
export function unitFromText(field: ColumnField, text: string): string | null {
  const word = text.trim().toLowerCase().replaceAll('º', '°');
  const found = UNIT_WORDS.find(([pattern]) => pattern.test(word))?.[1];
  return found !== undefined && COLUMN_KINDS[field].units.includes(found) ? found : null;
}

// prettier-ignore
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
const NOT_OURS =
  /indoor|tempin|hum(idity)?in\b|dew\w*in\b|max\s*daily|inside|\bin (temp|hum)|soil|feels|heat\s*index|chill|wet.?bulb|apparent|humidex|\buv\b|max temp|min temp|high temp|low temp|temp\w*[\s_]*(max|min|high|low)|rain\s*rate|sea.?level|\bmsl\b|relative press|water temp|innen|boden/;

export interface ColumnGuess {
  readonly field: ColumnField;
  /** Null when the heading names no unit: the person has to say. */
  readonly unit: string | null;
  /** False when another reading of the heading is possible (pressure may be reduced to sea level). */
  readonly sure: boolean;
}

/** Units that loggers write without a gap behind the name, as in 'tempf'. */
// prettier-ignore
const RUN_ON_UNITS: readonly (readonly [RegExp, readonly ColumnField[], string])[] = [
  [/f$/, ['airTempC', 'dewPointC'], 'degF'], [/c$/, ['airTempC', 'dewPointC'], 'degC'],
  [/mph$/, ['windMPerS', 'gustMPerS'], 'mph'], [/k(m|p)h$/, ['windMPerS', 'gustMPerS'], 'km/h'], [/m(p)?s$/, ['windMPerS', 'gustMPerS'], 'm/s'], [/k(n|ts|nots)$/, ['windMPerS', 'gustMPerS'], 'knot'],
  [/in$/, ['rainMm', 'rainCounterMm'], 'in'], [/mm$/, ['rainMm', 'rainCounterMm'], 'mm'], [/in$/, ['pressureKPa'], 'inHg'], [/(hpa|mb)$/, ['pressureKPa'], 'hPa'], [/kpa$/, ['pressureKPa'], 'kPa'],
  [/wm2$/, ['solarWPerM2'], 'W/m2'],
];

function fieldOf(name: string): ColumnField | undefined {
  return FIELD_WORDS.find(([pattern]) => pattern.test(name))?.[1];
}

/** The unit run on to a name, where the name without it still names the field ('rain' ends in no inches). */
function runOnUnit(field: ColumnField, name: string): string | null {
  return (
    RUN_ON_UNITS.find(
      ([ending, fields]) => fields.includes(field) && ending.test(name) && fieldOf(name.replace(ending, '')) === field,
    )?.[2] ?? null
  );
}

/** What a heading such as 'Outdoor Temperature (°F)' or 'tempf' names; null when it is nothing this diary keeps. */
export function guessColumn(heading: string): ColumnGuess | null {
  const words = heading.toLowerCase().replaceAll(/[_]+/g, ' ').trim();
  const inBrackets = /[([{]([^)\]}]*)[)\]}]/.exec(words)?.[1] ?? /[,;:]\s*([^,;:]+)$/.exec(words)?.[1] ?? null;
  const name = words.replaceAll(/[([{][^)\]}]*[)\]}]/g, ' ').trim();
  if (NOT_OURS.test(name)) return null;
  const field = fieldOf(name);
  if (field === undefined) return null;
  const tail = name.split(/\s+/).at(-1) ?? '';
  const named =
    (inBrackets === null ? null : unitFromText(field, inBrackets)) ??
    (tail === name ? null : unitFromText(field, tail)) ??
    runOnUnit(field, name);
  // What an 'hourly' column shows is the rain of the hour past, at every row: a rate, or rows of ten minutes would
  // count it six times.
  const unit = field === 'rainMm' && /hourly/.test(name) && (named === 'in' || named === 'mm') ? `${named}/h` : named;
  const only = COLUMN_KINDS[field].units.length === 1 ? (COLUMN_KINDS[field].units[0] ?? null) : null;
  const percentOnly = field === 'relHumidityPercent' || field === 'rainChancePercent' ? '%' : null;
  const known = unit ?? only ?? percentOnly;
  const sure = known !== null && (field !== 'pressureKPa' || /abs|station/.test(name)) && field !== 'rainCounterMm';
  return { field, unit: known, sure };
}

/**
 * Height of the anemometer, m, where a heading such as 'wind_speed_10m' or 'Wind at 33 ft' names it; null otherwise
 * ('avg10m' is ten minutes).
 */
export function heightInHeading(heading: string): number | null {
  const found = /(?:^|[^a-z0-9.])(\d+(?:\.\d+)?)\s*(m|ft)(?![a-z0-9/²^])/.exec(
    heading.toLowerCase().replaceAll('_', ' '),
  );
  if (found === null) return null;
  const heightM = toM({ value: Number(found[1]), unit: found[2] as LengthUnit });
  return heightM >= 0.5 && heightM <= 200 ? heightM : null;
}
