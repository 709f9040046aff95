import type { ColumnField } from '@/lib/forms/weather/weather-columns';

/** How the fields of a logger or a service are named on the pages. */
export const fieldNames: Record<ColumnField, string> = {
  airTempC: 'Air temperature',
  relHumidityPercent: 'Relative humidity',
  dewPointC: 'Dew point',
  windMPerS: 'Wind',
  gustMPerS: 'Gust',
  windFromDeg: 'Wind direction',
  rainMm: 'Rain in the interval',
  rainCounterMm: 'Rain counter (counts up)',
  rainChancePercent: 'Chance of rain',
  solarWPerM2: 'Solar radiation',
  cloudPercent: 'Cloud cover',
  pressureKPa: 'Pressure at the station',
  leafWetMin: 'Leaf wetness',
};

const unitNames: Record<string, string> = {
  degC: '°C',
  degF: '°F',
  deg: '°',
  'W/m2': 'W/m²',
  'MJ/m2/h': 'MJ/m² h',
  'kJ/m2/h': 'kJ/m² h',
  'MJ/m2': 'MJ/m² in the row’s interval',
  'kJ/m2': 'kJ/m² in the row’s interval',
  'Wh/m2': 'Wh/m² in the row’s interval',
  fraction: '0 to 1',
  min: 'min',
  okta: 'oktas',
};
export const unitName = (unit: string): string => unitNames[unit] ?? unit;

/** A sentence about a row, with the field's name instead of its key. */
export function withFieldName(sentence: string): string {
  return sentence
    .replace(/^(\w+):/, (whole, key: string) => (key in fieldNames ? `${fieldNames[key as ColumnField]}:` : whole))
    .replaceAll(/\bdegC\b/g, '°C')
    .replaceAll(/\bdegF\b/g, '°F');
}
