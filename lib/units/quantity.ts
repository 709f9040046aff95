import {
  showAirPressure,
  showAlkalinity,
  showArea,
  showConcentration,
  showDryRate,
  showFilm,
  showLength,
  showLiquidRate,
  showMass,
  showSpeed,
  showTemperature,
  showTemperatureDifference,
  showVolume,
  showWaterDepth,
  type UnitSystem,
} from './display';

/**
 * The kinds of quantity a sentence may hold, each given in the unit inside: °C, °C of difference, kg/ha (of a product,
 * of a nutrient), L/ha, m/s, mm of water, mm of a film, g/L, mg/L as CaCO3, kPa, m², m, kg, L.
 */
const TEXT = {
  temperature: (value, system) => showTemperature(value, system).text,
  temperatureDifference: (value, system) => showTemperatureDifference(value, system).text,
  dryRate: (value, system) => showDryRate(value, system).text,
  nutrientRate: (value, system) => showDryRate(value, system).text,
  liquidRate: (value, system) => showLiquidRate(value, system).text,
  wind: (value, system) => showSpeed(value, system).text,
  water: (value, system) => showWaterDepth(value, system).text,
  film: (value, system) => showFilm(value, system).text,
  strength: (value, system) => showConcentration(value * 1000, system).text,
  alkalinity: (value, system) => showAlkalinity(value, system).text,
  airPressure: (value, system) => showAirPressure(value, system).text,
  area: (value, system) => showArea(value, system).text,
  length: (value, system) => showLength(value, system).text,
  mass: (value, system) => showMass(value, system).text,
  volume: (value, system) => showVolume(value, system).text,
} as const satisfies Record<string, (value: number, system: UnitSystem) => string>;

export type QuantityKind = keyof typeof TEXT;

/**
 * A quantity inside a sentence: the number with its kind, which `asRead` turns into the reader's units when the
 * sentence is shown. So science writes sentences without knowing who reads, and a sentence that is kept can be read by
 * anybody.
 * @param value in the unit inside of the kind
 * @example `up to ${quantity('temperature', 30)}` // 'up to ⟦temperature 30⟧'
 */
export function quantity(kind: QuantityKind, value: number): string {
  return `⟦${kind} ${Number(value.toPrecision(9))}⟧`;
}

/**
 * A sentence with its quantities in the reader's units.
 * @example asRead('up to ⟦temperature 30⟧', 'us-customary') // 'up to 86 °F'
 */
export function asRead(sentence: string, system: UnitSystem): string {
  return sentence.replaceAll(/⟦(\w+) (-?[\d.e+-]+)⟧/g, (whole, kind: string, value: string) =>
    Object.hasOwn(TEXT, kind) ? TEXT[kind as QuantityKind](Number(value), system) : whole,
  );
}

/**
 * A whole answer with every sentence in it in the reader's units: lists and plain objects are gone through, all else
 * stays as it is.
 */
export function allAsRead<T>(answer: T, system: UnitSystem): T {
  if (typeof answer === 'string') return asRead(answer, system) as T;
  if (Array.isArray(answer)) return answer.map((part) => allAsRead(part, system)) as T;
  if (answer === null || typeof answer !== 'object' || Object.getPrototypeOf(answer) !== Object.prototype)
    return answer;
  return Object.fromEntries(Object.entries(answer).map(([name, part]) => [name, allAsRead(part, system)])) as T;
}
