import { HOUR_MS } from '@/lib/units/time';
import { expectFinite, expectInRange, expectPositive } from '@/lib/expect';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { hourStartOf } from '@/lib/weather/hour';
import { hourEnergy, skyShareBefore } from '@/lib/weather/hour-energy';
import { vapourPressureDeficitKPa, vapourPressureKPa } from '@/lib/weather/humidity';
import { atmosphericPressureKPa, psychrometricConstantKPaPerC } from '@/lib/weather/pressure';
import { W_PER_M2_IN_MJ_PER_M2_H } from '@/lib/weather/radiation';
import { tetensKPa } from '@/lib/weather/saturation';
import {
  LEAST_WIND_AT_2M_M_PER_S,
  aerodynamicResistanceSPerM,
  windOfHourAt2mMPerS,
  windAtCanopyMPerS,
} from '@/lib/weather/wind';
import { quantity } from '@/lib/units/quantity';

/** Latent heat of vaporisation, MJ/kg. @see FAO-56 below eq. 7 */
const LATENT_HEAT_MJ_PER_KG = 2.45;
/** Specific heat of moist air, MJ kg⁻¹ °C⁻¹. @see FAO-56 eq. 8 */
const SPECIFIC_HEAT_MJ_PER_KG_C = 1.013e-3;
/** Rain that rewets or washes the film, mm in an hour: a rain gauge's usual tip (common practice, no source). */
const RAIN_MM = 0.2;

/**
 * Heat given off by a leaf as a share of a black body's: 0.94 to 0.99 for leaves (Campbell & Norman 1998, from memory).
 */
const LEAF_EMISSIVITY = 0.97;
/** Stefan-Boltzmann constant, MJ m⁻² h⁻¹ K⁻⁴ (exact since 2019: 5.670374419e-8 W m⁻² K⁻⁴). */
const STEFAN_BOLTZMANN_MJ_PER_H = 5.670374419e-8 * 0.0036;
const KELVIN = 273.15;

export interface WetAir {
  readonly airTempC: number;
  readonly relHumidityPercent: number;
  /** At 2 m, m/s; below 0.5 the rate is computed with 0.5 (see LEAST_WIND_AT_2M_M_PER_S). */
  readonly windAt2m: number;
  /** Net radiation of a leaf as warm as the air, less soil heat flux, MJ m⁻² h⁻¹. */
  readonly available: number;
  readonly pressureKPa: number;
  readonly canopyHeightM: number;
}

export interface WetLeaf {
  /** mm/h; negative when dew forms, which is only where the leaf is below the dew point. */
  readonly evaporationMmPerH: number;
  readonly leafTempC: number;
}

/**
 * A wet leaf's temperature and evaporation: the leaf is as warm as makes what it takes up equal what it gives off. A
 * leaf cooler than the air gives off less heat radiation (that is what keeps a clear night from making dew of dry air),
 * so net radiation, which is computed for a leaf as warm as the air, is mended by the difference. Not linearised: at 35
 * °C and 20 % humidity by night Penman's straight line is 23 % slow, and makes dew above the dew point where radiation
 * is left out. Rises with wind and deficit whenever the leaf is above the dew point, and with energy.
 * Exported for the energy balance, which is held to published leaves.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 3 with r_s = 0 before its linearisation, eq. 4 for r_a; air density by eq. 3-5 with T_Kv = 1.01 (T +
 *   273); heat radiation ε σ (T_leaf⁴ − T_air⁴), whose slope is the radiative conductance of Monteith & Unsworth (ch.
 *   13, from memory)
 */
export function wetLeaf(air: WetAir): WetLeaf {
  const gamma = psychrometricConstantKPaPerC(air.pressureKPa);
  const airVapourKPa = vapourPressureKPa(air.airTempC, air.relHumidityPercent);
  const resistance = aerodynamicResistanceSPerM(Math.max(LEAST_WIND_AT_2M_M_PER_S, air.windAt2m), air.canopyHeightM);
  const densityKgPerM3 = air.pressureKPa / (1.01 * (air.airTempC + 273) * 0.287); // eq. 3-5
  const exchange = (3600 * densityKgPerM3 * SPECIFIC_HEAT_MJ_PER_KG_C) / resistance; // MJ m⁻² h⁻¹ °C⁻¹
  const radiated = LEAF_EMISSIVITY * STEFAN_BOLTZMANN_MJ_PER_H;
  const airFourth = (air.airTempC + KELVIN) ** 4;
  let leafTempC = air.airTempC + expectFinite('available', air.available) / exchange;
  leafTempC = Math.min(Math.max(leafTempC, air.airTempC - 40), air.airTempC + 60);
  // Newton's steps: the balance falls and is concave in leaf temperature, so from the second step on they close in from
  // one side.
  for (let step = 0; step < MOST_STEPS; step += 1) {
    const kelvin = leafTempC + KELVIN;
    const saturation = tetensKPa(leafTempC);
    const balance =
      air.available -
      radiated * (kelvin ** 4 - airFourth) -
      exchange * (leafTempC - air.airTempC) -
      (exchange / gamma) * (saturation - airVapourKPa);
    const slope =
      4 * radiated * kelvin ** 3 + exchange + (exchange / gamma) * ((4098 * saturation) / (leafTempC + 237.3) ** 2); // eq. 13
    const change = balance / slope;
    leafTempC += change;
    if (Math.abs(change) < SOLVED_C) break;
  }
  return {
    leafTempC,
    evaporationMmPerH: ((exchange / gamma) * (tetensKPa(leafTempC) - airVapourKPa)) / LATENT_HEAT_MJ_PER_KG,
  };
}

/** A step this small, °C, ends the search; five or six steps do. */
const SOLVED_C = 1e-9;
const MOST_STEPS = 50;

export interface FilmPlan {
  readonly startUtcMs: number;
  /** Water and product per ground area, L/ha. */
  readonly carrierLPerHa: number;
  /**
   * Wetted leaf area per ground area, m²/m². 1 shares the liquid over as much leaf as there is ground, which keeps the
   * energy balance; above 1 the film is thinner and each leaf is taken to dry as the topmost do, so the time is a lower
   * bound.
   */
  readonly wettedLeafAreaM2PerM2: number;
  /** Height of the grass, m. */
  readonly canopyHeightM: number;
}

export interface DryingStep {
  readonly fromUtcMs: number;
  readonly minutes: number;
  readonly rateMmPerH: number;
  readonly filmLeftMm: number;
  readonly airTempC: number;
  readonly leafTempC: number;
  readonly relHumidityPercent: number;
  readonly vpdKPa: number;
  readonly windAt2m: number;
  readonly windAtCanopy: number;
  readonly solarWPerM2: number;
  readonly netRadiationWPerM2: number;
}

interface DryingCommon {
  readonly filmMm: number;
  readonly steps: readonly DryingStep[];
  /** What was assumed or lies outside what the model was made for, in words. */
  readonly assumed: readonly string[];
  readonly extrapolated: boolean;
}

export type DryingResult =
  | (DryingCommon & { readonly kind: 'dries'; readonly minutes: number; readonly driesAtUtcMs: number })
  /** Dew or still, damp air: the film stays until at least `byUtcMs`. */
  | (DryingCommon & { readonly kind: 'does-not-dry'; readonly byUtcMs: number; readonly filmLeftMm: number })
  /** Rain came first. */
  | (DryingCommon & {
      readonly kind: 'rained-on';
      readonly atUtcMs: number;
      readonly minutes: number;
      readonly filmLeftMm: number;
    })
  /** An hour that is needed lacks these fields (all of them when there is no such hour). */
  | (DryingCommon & { readonly kind: 'unknown'; readonly hourStartUtcMs: number; readonly missing: readonly string[] });

const NEEDED = ['airTempC', 'relHumidityPercent', 'windMPerS'] as const;

const FIELD_WORDS: Readonly<Record<string, string>> = {
  airTempC: 'air temperature',
  relHumidityPercent: 'humidity',
  windMPerS: 'wind',
};

/** Weather fields that are missing, in words. */
export function missingWords(fields: readonly string[]): string {
  return fields.map((field) => FIELD_WORDS[field] ?? field).join(', ');
}

/**
 * How long a spray film stays wet, by adding up evaporation hour by hour from the start of the spray. An estimate for
 * comparing hours and volumes: droplets drying at their rims, leaves shading each other and salts holding water are
 * left out. Drier air dries faster at equal net radiation, always. But drier air also gets less heat from a clear sky
 * (FAO-56 eq. 39): with wind of 1 m/s or less at 2 m the two nearly cancel under a clear sky, and drier air can come
 * out up to 2 % slower.
 * @param hours weather in any order; the day before the start helps to know the clouds
 * @param maxHours how far to look, 1 to 72 h
 * @throws RangeError on a plan out of range
 * @see design of the model: film depth = carrier volume / wetted leaf area; rate = wetLeaf's
 */
export function dryingTime(
  plan: FilmPlan,
  hours: readonly WeatherHour[],
  place: WeatherPlace,
  maxHours = 24,
): DryingResult {
  expectFinite('startUtcMs', plan.startUtcMs);
  expectInRange('maxHours', maxHours, 1, 72, 'h');
  expectInRange('canopyHeightM', plan.canopyHeightM, 0.003, 1, 'm');
  const filmMm = filmDepthMm(plan.carrierLPerHa, plan.wettedLeafAreaM2PerM2);
  const until = plan.startUtcMs + maxHours * HOUR_MS;
  const byStart = new Map(
    hours
      .filter((hour) => hour.hourStartUtcMs > plan.startUtcMs - HOUR_MS && hour.hourStartUtcMs < until)
      .map((hour) => [hour.hourStartUtcMs, hour]),
  );
  let skyShare = skyShareBefore(hours, plan.startUtcMs, place);
  const steps: DryingStep[] = [];
  const assumed = new Set<string>();
  let left = filmMm;
  let extrapolated = plan.canopyHeightM > 0.15;
  if (extrapolated) assumed.add('grass too tall for a lawn: resistance extrapolated');
  const common = (): DryingCommon => ({ filmMm, steps, assumed: [...assumed], extrapolated });
  for (let at = plan.startUtcMs; at < until;) {
    const hourStart = hourStartOf(at);
    const hour = byStart.get(hourStart);
    const missing = hour === undefined ? [...NEEDED] : NEEDED.filter((field) => hour[field] === null);
    const energy = hour === undefined ? null : hourEnergy(hour, place, skyShare);
    if (hour === undefined || missing.length > 0 || energy === null)
      return { ...common(), kind: 'unknown', hourStartUtcMs: hourStart, missing };
    if ((hour.rainMm ?? 0) >= RAIN_MM) {
      return {
        ...common(),
        kind: 'rained-on',
        atUtcMs: at,
        minutes: (at - plan.startUtcMs) / 60_000,
        filmLeftMm: left,
      };
    }
    if (hour.rainMm === null) assumed.add('rain not measured: taken as none');
    for (const words of energy.assumed) assumed.add(words);
    if (energy.skyMeasured) skyShare = energy.clearShare;
    const airTempC = hour.airTempC ?? 0; // not null: `missing` is empty
    const relHumidityPercent = hour.relHumidityPercent ?? 0;
    const windAt2m = windOfHourAt2mMPerS(hour) ?? 0;
    if (windAt2m < LEAST_WIND_AT_2M_M_PER_S) {
      assumed.add(`less wind than ${quantity('wind', LEAST_WIND_AT_2M_M_PER_S)}: computed with that`);
      extrapolated = true;
    }
    if (airTempC < 0 || airTempC > 45 || windAt2m > 15) {
      assumed.add('freezing, great heat or a gale: outside what the model was made for');
      extrapolated = true;
    }
    const { evaporationMmPerH: rate, leafTempC } = wetLeaf({
      airTempC,
      relHumidityPercent,
      windAt2m,
      available: energy.available,
      canopyHeightM: plan.canopyHeightM,
      pressureKPa: hour.pressureKPa ?? atmosphericPressureKPa(place.elevationM),
    });
    const span = Math.min(hourStart + HOUR_MS, until) - at;
    const needed = rate > 0 ? (left / rate) * HOUR_MS : Number.POSITIVE_INFINITY;
    const used = Math.min(span, needed);
    left = needed <= span ? 0 : left - (rate * span) / HOUR_MS; // a negative rate adds dew
    steps.push({
      fromUtcMs: at,
      minutes: used / 60_000,
      rateMmPerH: rate,
      filmLeftMm: left,
      airTempC,
      leafTempC,
      relHumidityPercent,
      vpdKPa: vapourPressureDeficitKPa(airTempC, relHumidityPercent),
      windAt2m,
      windAtCanopy: windAtCanopyMPerS(windAt2m, plan.canopyHeightM),
      solarWPerM2: energy.solar * W_PER_M2_IN_MJ_PER_M2_H,
      netRadiationWPerM2: energy.netRadiation * W_PER_M2_IN_MJ_PER_M2_H,
    });
    if (left === 0)
      return { ...common(), kind: 'dries', minutes: (at - plan.startUtcMs + used) / 60_000, driesAtUtcMs: at + used };
    at += span;
  }
  return { ...common(), kind: 'does-not-dry', byUtcMs: until, filmLeftMm: left };
}

/**
 * Depth of the film on the leaves, mm: 1 L/m² is 1 mm.
 * @throws RangeError unless both are above 0
 * @example filmDepthMm(815, 2) // 0.041
 */
function filmDepthMm(carrierLPerHa: number, wettedLeafAreaM2PerM2: number): number {
  return (
    expectPositive('carrierLPerHa', carrierLPerHa, 'L/ha') /
    10_000 /
    expectPositive('wettedLeafAreaM2PerM2', wettedLeafAreaM2PerM2, 'm²/m²')
  );
}

const same = (hour: WeatherHour): WeatherHour => hour;
const plus = (value: number | null, more: number, max: number): number | null =>
  value === null ? null : Math.min(max, value + more);

export interface DryingSensitivity {
  readonly input: 'carrier' | 'wettedLeafArea' | 'airTemp' | 'relHumidity' | 'wind' | 'solar';
  /** The change made, such as '+1 m/s'. */
  readonly change: string;
  /** Minutes to dry after the change; null when it then doesn't dry, is rained on or is unknown. */
  readonly minutes: number | null;
}

/**
 * What the drying time would be with each input changed alone, all hours alike.
 * Humidity stays within 0 to 100 %; hours without sun stay so; where no sun was measured its change gives null.
 * @throws RangeError as dryingTime
 */
export function dryingSensitivity(
  plan: FilmPlan,
  hours: readonly WeatherHour[],
  place: WeatherPlace,
  maxHours = 24,
): DryingSensitivity[] {
  const minutes = (changed: FilmPlan, air: (hour: WeatherHour) => WeatherHour): number | null => {
    const result = dryingTime(changed, hours.map(air), place, maxHours);
    return result.kind === 'dries' ? result.minutes : null;
  };
  const sunKnown = hours.some((hour) => hour.solarWPerM2 !== null && hour.hourStartUtcMs > plan.startUtcMs - HOUR_MS);
  return [
    { input: 'carrier', change: '+25%', minutes: minutes({ ...plan, carrierLPerHa: plan.carrierLPerHa * 1.25 }, same) },
    {
      input: 'wettedLeafArea',
      change: '+25%',
      minutes: minutes({ ...plan, wettedLeafAreaM2PerM2: plan.wettedLeafAreaM2PerM2 * 1.25 }, same),
    },
    {
      input: 'airTemp',
      change: '+2 °C',
      minutes: minutes(plan, (hour) => ({ ...hour, airTempC: plus(hour.airTempC, 2, 60) })),
    },
    {
      input: 'relHumidity',
      change: '+10 points',
      minutes: minutes(plan, (hour) => ({ ...hour, relHumidityPercent: plus(hour.relHumidityPercent, 10, 100) })),
    },
    {
      input: 'wind',
      change: '+1 m/s',
      minutes: minutes(plan, (hour) => ({ ...hour, windMPerS: plus(hour.windMPerS, 1, 60) })),
    },
    {
      input: 'solar',
      change: '+100 W/m²',
      minutes: sunKnown
        ? minutes(plan, (hour) => ({
            ...hour,
            solarWPerM2: hour.solarWPerM2 === 0 ? 0 : plus(hour.solarWPerM2, 100, 1500),
          }))
        : null,
    },
  ];
}
