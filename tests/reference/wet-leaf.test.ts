import { describe, expect, test } from 'vitest';
import { dryingTime, wetLeaf } from '@/lib/weather/drying';
import type { WeatherHour } from '@/lib/weather/hour';
import { emptyHour } from '@/lib/weather/hour';
import { HOUR_MS } from '@/lib/units/time';
import { hourEnergy } from '@/lib/weather/hour-energy';

/**
 * The reference is the energy balance itself, solved here in W/m² and kelvin by halving, from constants written down
 * again: net radiation of a leaf as warm as the air − ε σ (T_leaf⁴ − T_air⁴) = ρ c_p (T_leaf − T_air)/r_a + (ρ
 * c_p/γ)(e_s(T_leaf) − e_a)/r_a. FAO-56 (Allen et al. 1998) eq. 4, 8, 11, 39, 45, 46 and 3-5 for the pieces.
 */
const saturation = (tempC: number): number => 0.6108 * Math.exp((17.27 * tempC) / (tempC + 237.3));
function balanced(air: {
  tempC: number;
  humidityPercent: number;
  windAt2m: number;
  availableWPerM2: number;
  pressureKPa: number;
  grassM: number;
}): { leafC: number; mmPerH: number } {
  const [displacement, momentum] = [(2 / 3) * air.grassM, 0.123 * air.grassM];
  const resistance =
    (Math.log((2 - displacement) / momentum) * Math.log((2 - displacement) / (0.1 * momentum))) /
    (0.41 ** 2 * Math.max(0.5, air.windAt2m));
  const volumetric = (air.pressureKPa / (1.01 * (air.tempC + 273) * 0.287)) * 1013; // J m⁻³ K⁻¹
  const gamma = 0.000665 * air.pressureKPa;
  const vapour = (saturation(air.tempC) * air.humidityPercent) / 100;
  const latent = (leafC: number): number => (volumetric / gamma) * ((saturation(leafC) - vapour) / resistance);
  const gain = (leafC: number): number =>
    air.availableWPerM2 -
    0.97 * 5.670374e-8 * ((leafC + 273.15) ** 4 - (air.tempC + 273.15) ** 4) -
    (volumetric * (leafC - air.tempC)) / resistance -
    latent(leafC);
  let [cold, warm] = [air.tempC - 80, air.tempC + 80];
  for (let i = 0; i < 100; i += 1) {
    const middle = (cold + warm) / 2;
    if (gain(middle) > 0) cold = middle;
    else warm = middle;
  }
  return { leafC: warm, mmPerH: (latent(warm) * 3600) / 2.45e6 };
}
/** The dew point by turning FAO-56 eq. 11 round. */
function dewPoint(tempC: number, humidityPercent: number): number {
  const log = Math.log((saturation(tempC) * humidityPercent) / 100 / 0.6108);
  return (237.3 * log) / (17.27 - log);
}

const place = { latitudeDeg: 40, longitudeDeg: -90, elevationM: 200 };
const night = Date.parse('2025-06-21T05:00Z'); // 23:00 mean solar time
const noon = Date.parse('2025-06-20T18:00Z');
function weather(
  from: number,
  tempC: number,
  humidityPercent: number,
  windAt2m: number,
  cloudPercent: number,
  count = 26,
): WeatherHour[] {
  return Array.from({ length: count }, (_, i) => ({
    ...emptyHour(from + (i - 1) * HOUR_MS),
    airTempC: tempC,
    relHumidityPercent: humidityPercent,
    windMPerS: windAt2m,
    windHeightM: 2,
    rainMm: 0,
    cloudPercent,
    pressureKPa: 99,
  }));
}

const TEMPS = [2, 8, 14, 20, 26, 31, 36];
const HUMIDITIES = [15, 30, 45, 60, 75, 85, 92, 98];
const WINDS = [0, 0.6, 1, 2, 5];
const CLOUDS = [0, 50, 100];
const STARTS = [night, noon];
const combinations = TEMPS.flatMap((t) =>
  HUMIDITIES.flatMap((h) => WINDS.flatMap((w) => CLOUDS.flatMap((c) => STARTS.map((at) => [t, h, w, c, at] as const)))),
);

describe('a wet leaf by night and by day', () => {
  test('in 1,680 weathers leaf temperature and rate are those of the balance; dew only below the dew point; no negative time', () => {
    expect(combinations).toHaveLength(1680);
    let [worstLeaf, worstRate, dews] = [0, 0, 0];
    const faults: string[] = [];
    for (const [tempC, humidityPercent, windAt2m, cloudPercent, at] of combinations) {
      const hours = weather(at, tempC, humidityPercent, windAt2m, cloudPercent);
      const energy = hourEnergy(hours[1] as WeatherHour, place, null);
      const available = energy?.available ?? Number.NaN;
      const got = wetLeaf({
        airTempC: tempC,
        relHumidityPercent: humidityPercent,
        windAt2m,
        available,
        pressureKPa: 99,
        canopyHeightM: 0.06,
      });
      const want = balanced({
        tempC,
        humidityPercent,
        windAt2m,
        availableWPerM2: available / 0.0036,
        pressureKPa: 99,
        grassM: 0.06,
      });
      worstLeaf = Math.max(worstLeaf, Math.abs(got.leafTempC - want.leafC));
      worstRate = Math.max(worstRate, Math.abs(got.evaporationMmPerH - want.mmPerH));
      const weatherText = `${tempC} °C ${humidityPercent} % ${windAt2m} m/s ${cloudPercent} % cloud`;
      if (got.evaporationMmPerH < 0) dews += 1;
      if (got.evaporationMmPerH < 0 !== got.leafTempC < dewPoint(tempC, humidityPercent))
        faults.push(`${weatherText}: leaf ${got.leafTempC}, ${got.evaporationMmPerH} mm/h`);
      const film = dryingTime(
        { startUtcMs: at, carrierLPerHa: 400, wettedLeafAreaM2PerM2: 1, canopyHeightM: 0.06 },
        hours,
        place,
      );
      if (film.kind === 'dries' && film.minutes <= 0) faults.push(`${weatherText}: dry after ${film.minutes} min`);
      if (film.steps.some((step) => step.minutes < 0 || step.filmLeftMm < 0))
        faults.push(`${weatherText}: a negative step`);
    }
    expect(faults).toEqual([]);
    expect(worstLeaf).toBeLessThan(1e-5); // °C
    expect(worstRate).toBeLessThan(1e-6); // mm/h
    expect(dews).toBeGreaterThan(0); // damp clear nights do make dew
  });

  test('a calm night of 35 °C and 20 % makes no dew: the dew point is 8.7 °C and the leaf stays far above it', () => {
    const available =
      hourEnergy(weather(night, 35, 20, 0.5, 0)[1] as WeatherHour, place, null)?.available ?? Number.NaN;
    const leaf = wetLeaf({
      airTempC: 35,
      relHumidityPercent: 20,
      windAt2m: 0.5,
      available,
      pressureKPa: 99,
      canopyHeightM: 0.06,
    });
    expect(dewPoint(35, 20)).toBeCloseTo(8.7, 1); // FAO-56 eq. 3-11 gives 8.69
    expect(leaf.leafTempC).toBeGreaterThan(20);
    expect(leaf.evaporationMmPerH).toBeGreaterThan(0.05);
  });

  // Two straight lines through the balance at air temperature, each dry-bulb only. Penman's (FAO-56 eq. 3 with r_s = 0)
  // leaves heat radiation out; Monteith's has r_R = ρ c_p/(4 · 0.97 · σ T³) beside r_a in the numerator and in γ. By
  // day both must be near.
  const lines = (
    tempC: number,
    humidityPercent: number,
    windAt2m: number,
    available: number,
  ): { penman: number; monteith: number } => {
    const momentum = 0.123 * 0.06;
    const aero =
      (Math.log((2 - 0.04) / momentum) * Math.log((2 - 0.04) / (0.1 * momentum))) /
      (0.41 ** 2 * Math.max(0.5, windAt2m));
    const volumetric = (99 / (1.01 * (tempC + 273) * 0.287)) * 1013;
    const radiative = volumetric / (4 * 0.97 * 5.670374e-8 * (tempC + 273.15) ** 3);
    const delta = (4098 * saturation(tempC)) / (tempC + 237.3) ** 2;
    const deficit = saturation(tempC) * (1 - humidityPercent / 100);
    const line = (both: number): number =>
      ((delta * (available / 0.0036) + (volumetric * deficit) / both) / (delta + 0.000665 * 99 * (aero / both))) *
      (3600 / 2.45e6);
    return { penman: line(aero), monteith: line(1 / (1 / aero + 1 / radiative)) };
  };
  const ratios = (
    keep: (tempC: number, windAt2m: number, start: number, leafLessAirC: number) => boolean,
  ): { penman: number; monteith: number }[] =>
    combinations.flatMap(([tempC, humidityPercent, windAt2m, cloudPercent, start]) => {
      const available =
        hourEnergy(weather(start, tempC, humidityPercent, windAt2m, cloudPercent)[1] as WeatherHour, place, null)
          ?.available ?? Number.NaN;
      const leaf = wetLeaf({
        airTempC: tempC,
        relHumidityPercent: humidityPercent,
        windAt2m,
        available,
        pressureKPa: 99,
        canopyHeightM: 0.06,
      });
      if (leaf.evaporationMmPerH < 0.02 || !keep(tempC, windAt2m, start, leaf.leafTempC - tempC)) return [];
      const { penman, monteith } = lines(tempC, humidityPercent, windAt2m, available);
      return [{ penman: penman / leaf.evaporationMmPerH, monteith: monteith / leaf.evaporationMmPerH }];
    });
  const median = (values: readonly number[]): number =>
    [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

  test('where the leaf is within 1 °C of the air, the linear form with radiative resistance agrees within 3 %', () => {
    const near = ratios((_tempC, _wind, _start, off) => Math.abs(off) < 1);
    expect(near.length).toBeGreaterThan(30);
    for (const { monteith } of near) expect(Math.abs(monteith - 1)).toBeLessThan(0.03);
  });
  test('in a breeze by day plain Penman is right within some 5 %; by night it is much too slow, or dew where there is none', () => {
    const day = ratios((tempC, wind, start) => start === noon && wind >= 1 && tempC >= 8);
    const dark = ratios((tempC, wind, start) => start === night && wind >= 1 && tempC >= 8);
    expect(median(day.map((r) => r.penman))).toBeGreaterThan(0.95);
    expect(median(day.map((r) => r.penman))).toBeLessThan(1.08);
    expect(median(dark.map((r) => r.penman))).toBeLessThan(0.75);
  });
});
