import { expectFinite, expectInRange, expectPositive } from '@/lib/expect';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';
import { HOUR_MS, hourStartOf } from '@/lib/weather/hour';
import { hourEnergy, skyShareBefore } from '@/lib/weather/hour-energy';
import { vapourPressureDeficitKPa } from '@/lib/weather/humidity';
import { atmosphericPressureKPa, psychrometricConstantKPaPerC } from '@/lib/weather/pressure';
import { W_PER_M2_IN_MJ_PER_M2_H } from '@/lib/weather/radiation';
import { saturationSlopeKPaPerC } from '@/lib/weather/saturation';
import { LEAST_WIND_AT_2M_M_PER_S, aerodynamicResistanceSPerM, windAt2mMPerS, windAtCanopyMPerS } from '@/lib/weather/wind';

/** Latent heat of vaporisation, MJ/kg. @see FAO-56 below eq. 7 */
const LATENT_HEAT_MJ_PER_KG = 2.45;
/** Specific heat of moist air, MJ kg⁻¹ °C⁻¹. @see FAO-56 eq. 8 */
const SPECIFIC_HEAT_MJ_PER_KG_C = 1.013e-3;
/** Rain that rewets or washes the film, mm in an hour: a rain gauge's usual tip (common practice, no source). */
const RAIN_MM = 0.2;

export interface WetAir {
  readonly airTempC: number;
  readonly relHumidityPercent: number;
  /** At 2 m, m/s; below 0.5 the rate is computed with 0.5 (see LEAST_WIND_AT_2M_M_PER_S). */
  readonly windAt2m: number;
  /** Net radiation less soil heat flux, MJ m⁻² h⁻¹. */
  readonly available: number;
  readonly pressureKPa: number;
  readonly canopyHeightM: number;
}

/**
 * Evaporation from a wet canopy, mm/h; negative when dew forms.
 * Penman-Monteith with surface resistance 0. Rises with wind and deficit whenever the air isn't saturated, and with energy.
 * @throws RangeError on a value out of range
 * @see FAO-56 eq. 3 with r_s = 0, eq. 4 for r_a; air density by eq. 3-5 with T_Kv = 1.01 (T + 273)
 */
export function wetCanopyEvaporationMmPerH(air: WetAir): number {
  const delta = saturationSlopeKPaPerC(air.airTempC);
  const gamma = psychrometricConstantKPaPerC(air.pressureKPa);
  const deficit = vapourPressureDeficitKPa(air.airTempC, air.relHumidityPercent);
  const resistance = aerodynamicResistanceSPerM(Math.max(LEAST_WIND_AT_2M_M_PER_S, air.windAt2m), air.canopyHeightM);
  const densityKgPerM3 = air.pressureKPa / (1.01 * (air.airTempC + 273) * 0.287); // eq. 3-5
  const drying = (3600 * densityKgPerM3 * SPECIFIC_HEAT_MJ_PER_KG_C * deficit) / resistance; // MJ m⁻² h⁻¹ kPa/°C
  return (delta * expectFinite('available', air.available) + drying) / (delta + gamma) / LATENT_HEAT_MJ_PER_KG; // eq. 3, r_s = 0
}

export interface FilmPlan {
  readonly startUtcMs: number;
  /** Water and product per ground area, L/ha. */
  readonly carrierLPerHa: number;
  /**
   * Wetted leaf area per ground area, m²/m². 1 shares the liquid over as much leaf as there is ground, which keeps the energy
   * balance; above 1 the film is thinner and each leaf is taken to dry as the topmost do, so the time is a lower bound.
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
  | (DryingCommon & { readonly kind: 'rained-on'; readonly atUtcMs: number; readonly minutes: number; readonly filmLeftMm: number })
  /** An hour that is needed lacks these fields (all of them when there is no such hour). */
  | (DryingCommon & { readonly kind: 'unknown'; readonly hourStartUtcMs: number; readonly missing: readonly string[] });

const NEEDED = ['airTempC', 'relHumidityPercent', 'windMPerS', 'windHeightM'] as const;

/**
 * How long a spray film stays wet, by adding up evaporation hour by hour from the start of the spray.
 * An estimate for comparing hours and volumes: droplets drying at their rims, leaves shading each other and salts holding water are left out.
 * Drier air dries faster at equal net radiation, always. But drier air also gets less heat from a clear sky (FAO-56 eq. 39): with wind
 * under about 2.5 m/s at 2 m and humidity under about 30 % the two cancel, and drier air can come out slower (35 °C, 20 %: below 2.1 m/s).
 * @param hours weather in any order; the day before the start helps to know the clouds
 * @param maxHours how far to look, 1 to 72 h
 * @throws RangeError on a plan out of range
 * @see design of the model: film depth = carrier volume / wetted leaf area; rate = wetCanopyEvaporationMmPerH
 */
export function dryingTime(plan: FilmPlan, hours: readonly WeatherHour[], place: WeatherPlace, maxHours = 24): DryingResult {
  expectFinite('startUtcMs', plan.startUtcMs);
  expectInRange('maxHours', maxHours, 1, 72, 'h');
  expectInRange('canopyHeightM', plan.canopyHeightM, 0.003, 1, 'm');
  const filmMm = filmDepthMm(plan.carrierLPerHa, plan.wettedLeafAreaM2PerM2);
  const until = plan.startUtcMs + maxHours * HOUR_MS;
  const byStart = new Map(hours.filter((hour) => hour.hourStartUtcMs > plan.startUtcMs - HOUR_MS && hour.hourStartUtcMs < until).map((hour) => [hour.hourStartUtcMs, hour]));
  let skyShare = skyShareBefore(hours, plan.startUtcMs, place);
  const steps: DryingStep[] = [];
  const assumed = new Set<string>();
  let left = filmMm;
  let extrapolated = plan.canopyHeightM > 0.15;
  if (extrapolated) assumed.add('grass taller than 0.15 m: not a lawn, resistance extrapolated');
  const common = (): DryingCommon => ({ filmMm, steps, assumed: [...assumed], extrapolated });
  for (let at = plan.startUtcMs; at < until; ) {
    const hourStart = hourStartOf(at);
    const hour = byStart.get(hourStart);
    const missing = hour === undefined ? [...NEEDED] : NEEDED.filter((field) => hour[field] === null);
    const energy = hour === undefined ? null : hourEnergy(hour, place, skyShare);
    if (hour === undefined || missing.length > 0 || energy === null) return { ...common(), kind: 'unknown', hourStartUtcMs: hourStart, missing };
    if ((hour.rainMm ?? 0) >= RAIN_MM) {
      return { ...common(), kind: 'rained-on', atUtcMs: at, minutes: (at - plan.startUtcMs) / 60_000, filmLeftMm: left };
    }
    if (hour.rainMm === null) assumed.add('rain not measured: taken as none');
    for (const words of energy.assumed) assumed.add(words);
    if (energy.skyMeasured) skyShare = energy.clearShare;
    const airTempC = hour.airTempC ?? 0; // not null: `missing` is empty
    const relHumidityPercent = hour.relHumidityPercent ?? 0;
    const windAt2m = windAt2mMPerS(hour.windMPerS ?? 0, hour.windHeightM ?? 2);
    if (windAt2m < LEAST_WIND_AT_2M_M_PER_S) {
      assumed.add(`wind below ${LEAST_WIND_AT_2M_M_PER_S} m/s at 2 m: computed with ${LEAST_WIND_AT_2M_M_PER_S}`);
      extrapolated = true;
    }
    if (airTempC < 0 || airTempC > 45 || windAt2m > 15) {
      assumed.add('freezing, above 45 °C or a gale: outside what the model was made for');
      extrapolated = true;
    }
    const rate = wetCanopyEvaporationMmPerH({
      airTempC, relHumidityPercent, windAt2m, available: energy.available, canopyHeightM: plan.canopyHeightM,
      pressureKPa: hour.pressureKPa ?? atmosphericPressureKPa(place.elevationM),
    });
    const span = Math.min(hourStart + HOUR_MS, until) - at;
    const needed = rate > 0 ? (left / rate) * HOUR_MS : Number.POSITIVE_INFINITY;
    const used = Math.min(span, needed);
    left = needed <= span ? 0 : left - (rate * span) / HOUR_MS; // a negative rate adds dew
    steps.push({
      fromUtcMs: at, minutes: used / 60_000, rateMmPerH: rate, filmLeftMm: left, airTempC, relHumidityPercent,
      vpdKPa: vapourPressureDeficitKPa(airTempC, relHumidityPercent), windAt2m, windAtCanopy: windAtCanopyMPerS(windAt2m, plan.canopyHeightM),
      solarWPerM2: energy.solar * W_PER_M2_IN_MJ_PER_M2_H, netRadiationWPerM2: energy.netRadiation * W_PER_M2_IN_MJ_PER_M2_H,
    });
    if (left === 0) return { ...common(), kind: 'dries', minutes: (at - plan.startUtcMs + used) / 60_000, driesAtUtcMs: at + used };
    at += span;
  }
  return { ...common(), kind: 'does-not-dry', byUtcMs: until, filmLeftMm: left };
}

/**
 * Depth of the film on the leaves, mm: 1 L/m² is 1 mm.
 * @throws RangeError unless both are above 0
 * @example filmDepthMm(815, 2) // 0.041
 */
export function filmDepthMm(carrierLPerHa: number, wettedLeafAreaM2PerM2: number): number {
  return expectPositive('carrierLPerHa', carrierLPerHa, 'L/ha') / 10_000 / expectPositive('wettedLeafAreaM2PerM2', wettedLeafAreaM2PerM2, 'm²/m²');
}

const same = (hour: WeatherHour): WeatherHour => hour;
const plus = (value: number | null, more: number, max: number): number | null => (value === null ? null : Math.min(max, value + more));

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
export function dryingSensitivity(plan: FilmPlan, hours: readonly WeatherHour[], place: WeatherPlace, maxHours = 24): DryingSensitivity[] {
  const minutes = (changed: FilmPlan, air: (hour: WeatherHour) => WeatherHour): number | null => {
    const result = dryingTime(changed, hours.map(air), place, maxHours);
    return result.kind === 'dries' ? result.minutes : null;
  };
  const sunKnown = hours.some((hour) => hour.solarWPerM2 !== null && hour.hourStartUtcMs > plan.startUtcMs - HOUR_MS);
  return [
    { input: 'carrier', change: '+25%', minutes: minutes({ ...plan, carrierLPerHa: plan.carrierLPerHa * 1.25 }, same) },
    { input: 'wettedLeafArea', change: '+25%', minutes: minutes({ ...plan, wettedLeafAreaM2PerM2: plan.wettedLeafAreaM2PerM2 * 1.25 }, same) },
    { input: 'airTemp', change: '+2 °C', minutes: minutes(plan, (hour) => ({ ...hour, airTempC: plus(hour.airTempC, 2, 60) })) },
    { input: 'relHumidity', change: '+10 points', minutes: minutes(plan, (hour) => ({ ...hour, relHumidityPercent: plus(hour.relHumidityPercent, 10, 100) })) },
    { input: 'wind', change: '+1 m/s', minutes: minutes(plan, (hour) => ({ ...hour, windMPerS: plus(hour.windMPerS, 1, 60) })) },
    {
      input: 'solar', change: '+100 W/m²',
      minutes: sunKnown ? minutes(plan, (hour) => ({ ...hour, solarWPerM2: hour.solarWPerM2 === 0 ? 0 : plus(hour.solarWPerM2, 100, 1500) })) : null,
    },
  ];
}
