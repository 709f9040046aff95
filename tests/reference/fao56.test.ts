/**
 * Worked examples of Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56.
 * Answers seen in the public test suites of two evapotranspiration libraries (PyETo tests/test_fao.py, pyet
 * tests/testfao56.py) and recomputed with an independent script; those marked (memory) were only recomputed. Units in
 * the names; one unit of the last printed digit is allowed, half where the printed inputs permit. A widely copied test
 * labels example 18 'Bangkok': it is Uccle.
 */
import { describe, expect, test } from 'vitest';
import {
  referenceEvapotranspirationDay,
  referenceEvapotranspirationHour,
  soilHeatFluxHour,
} from '@/lib/weather/evapotranspiration';
import { etoOfHours } from '@/lib/weather/eto-hours';
import { emptyHour } from '@/lib/weather/hour';
import { vapourPressureKPa } from '@/lib/weather/humidity';
import { atmosphericPressureKPa, psychrometricConstantKPaPerC } from '@/lib/weather/pressure';
import {
  clearSkySolar,
  extraterrestrialRadiationHour,
  netLongwaveHour,
  netShortwave,
  solarAltitudeSine,
} from '@/lib/weather/radiation';
import { saturationVapourPressureKPa } from '@/lib/weather/saturation';
import { wetBulbPsychrometricC } from '@/lib/weather/wet-bulb';
import { aerodynamicResistanceSPerM, windAt2mMPerS } from '@/lib/weather/wind';

/** The top of the atmosphere over a day, MJ/m²: its 24 hours added up. */
const radiationOfDay = (latitudeDeg: number, dayOfYear: number, longitudeDeg = 0): number =>
  Array.from({ length: 24 }, (_, hour) =>
    extraterrestrialRadiationHour({
      latitudeDeg,
      longitudeDeg,
      dayOfYear,
      midHour: hour + 0.5,
      zoneLongitudeDeg: 0,
      lengthHours: 1,
    }),
  ).reduce((sum, one) => sum + one, 0);

/** What the worked days start from, by the paper's own daily equations, which no page needs. */
const declination = (dayOfYear: number): number => 0.409 * Math.sin(((2 * Math.PI) / 365) * dayOfYear - 1.39); // eq. 24
const sunsetAngle = (latitudeDeg: number, dayOfYear: number): number =>
  Math.acos(
    Math.min(1, Math.max(-1, -Math.tan((latitudeDeg * Math.PI) / 180) * Math.tan(declination(dayOfYear)))), // eq. 25
  );
const solarOfSunshine = (latitudeDeg: number, dayOfYear: number, sunshineHours: number): number =>
  (0.25 + (0.5 * sunshineHours) / ((24 / Math.PI) * sunsetAngle(latitudeDeg, dayOfYear))) * // eq. 34, 35
  radiationOfDay(latitudeDeg, dayOfYear);
const meanSaturation = (maxTempC: number, minTempC: number): number =>
  (saturationVapourPressureKPa(maxTempC) + saturationVapourPressureKPa(minTempC)) / 2; // eq. 12
/** Heat lost over a day: the mean of its extremes, eq. 39. */
const longwaveOfDay = (maxTempC: number, minTempC: number, vapourPressure: number, clearShare: number): number =>
  12 *
  (netLongwaveHour({ airTempC: maxTempC, vapourPressure, clearShare }) +
    netLongwaveHour({ airTempC: minTempC, vapourPressure, clearShare }));

/** How many units of the last digit printed a value is off. */
function unitsOff(got: number, value: number, digits: number): number {
  return (Math.abs(got - value) * 10 ** digits) / 1.0001;
}

describe('FAO-56 worked examples', () => {
  test('example 2: at 1800 m pressure is 81.8 kPa and the psychrometric constant 0.054 kPa/°C', () => {
    expect(unitsOff(atmosphericPressureKPa(1800), 81.8, 1)).toBeLessThanOrEqual(1);
    expect(atmosphericPressureKPa(1800)).toBeCloseTo(81.756, 3); // independent script
    expect(unitsOff(psychrometricConstantKPaPerC(81.8), 0.054, 3)).toBeLessThanOrEqual(1);
  });
  test('example 3: 24.5 and 15 °C saturate at 3.075 and 1.705 kPa, mean 2.39', () => {
    expect(unitsOff(saturationVapourPressureKPa(24.5), 3.075, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(saturationVapourPressureKPa(15), 1.705, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(meanSaturation(24.5, 15), 2.39, 2)).toBeLessThanOrEqual(1);
  });
  test('example 4: dry 25.6 °C with 1.91 kPa at 1200 m has its aspirated wet bulb at 19.5', () => {
    expect(unitsOff(atmosphericPressureKPa(1200), 87.9, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(saturationVapourPressureKPa(19.5), 2.267, 3)).toBeLessThanOrEqual(1);
    const humidity = (100 * 1.91) / saturationVapourPressureKPa(25.6);
    expect(unitsOff(wetBulbPsychrometricC(25.6, humidity, 87.9), 19.5, 1)).toBeLessThanOrEqual(1);
  });
  test('example 5: 18 °C with 82 % and 25 °C with 54 % hold 1.70 kPa on average', () => {
    expect(unitsOff((vapourPressureKPa(18, 82) + vapourPressureKPa(25, 54)) / 2, 1.7, 2)).toBeLessThanOrEqual(1);
  });
  test('example 8: 20° S on 3 September gets 32.2 MJ/m², the sun at noon 27° from overhead', () => {
    expect(unitsOff(radiationOfDay(-20, 246), 32.2, 1)).toBeLessThanOrEqual(1);
    expect(radiationOfDay(-20, 246)).toBeCloseTo(32.194, 3); // independent script
    // Declination 0.120 rad (printed) is 6.9° N, 26.9° from the zenith of 20° S.
    const noon = { latitudeDeg: -20, longitudeDeg: 0, dayOfYear: 246, zoneLongitudeDeg: 0 };
    const highest = Math.max(
      ...Array.from({ length: 48 }, (_, i) => solarAltitudeSine({ ...noon, midHour: 11.5 + i / 48 })),
    );
    expect(Math.acos(highest)).toBeCloseTo((20 * Math.PI) / 180 + 0.12, 2);
  });
  test('example 11: Rio de Janeiro on 15 May loses 3.5 MJ/m² of heat', () => {
    expect(unitsOff(radiationOfDay(-22.9, 135), 25.1, 1)).toBeLessThanOrEqual(1);
    const rso = clearSkySolar(radiationOfDay(-22.9, 135), 0);
    expect(unitsOff(rso, 18.8, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(longwaveOfDay(25.1, 19.1, 2.1, 14.5 / 18.8), 3.5, 1)).toBeLessThanOrEqual(1);
  });
  test('example 12: its net radiation is 7.6 MJ/m², 11.1 of it short-wave', () => {
    const rns = netShortwave(14.5);
    expect(unitsOff(rns, 11.1, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(rns - longwaveOfDay(25.1, 19.1, 2.1, 14.5 / 18.8), 7.6, 1)).toBeLessThanOrEqual(1);
  });
  test('example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m', () =>
    expect(unitsOff(windAt2mMPerS(3.2, 10), 2.4, 1)).toBeLessThanOrEqual(1));
  test('example 17: Bangkok in April evaporates 5.72 mm a day', () => {
    const rs = solarOfSunshine(13.73, 105, 8.5);
    const clearShare = rs / clearSkySolar(radiationOfDay(13.73, 105), 2);
    const netRadiation = netShortwave(rs) - longwaveOfDay(34.8, 25.6, 2.85, clearShare);
    const soilHeatFlux = 0.14 * (30.2 - 29.2); // eq. 44
    expect(unitsOff(netRadiation, 14.33, 2)).toBeLessThanOrEqual(1);
    const eto = referenceEvapotranspirationDay({
      meanTempC: 30.2,
      saturationVapourPressure: meanSaturation(34.8, 25.6),
      vapourPressure: 2.85,
      windAt2m: 2,
      netRadiation,
      soilHeatFlux,
      pressureKPa: atmosphericPressureKPa(2),
    });
    expect(unitsOff(eto, 5.72, 2)).toBeLessThanOrEqual(1);
    expect(eto).toBeCloseTo(5.716, 3); // independent script
  });
  test('example 18: Uccle on 6 July evaporates 3.88 mm', () => {
    const windAt2m = windAt2mMPerS(2.78, 10);
    const es = meanSaturation(21.5, 12.3);
    const ea = (vapourPressureKPa(12.3, 84) + vapourPressureKPa(21.5, 63)) / 2;
    const rs = solarOfSunshine(50.8, 187, 9.25);
    const rso = clearSkySolar(radiationOfDay(50.8, 187), 100);
    const netRadiation = netShortwave(rs) - longwaveOfDay(21.5, 12.3, ea, rs / rso);
    expect(Math.abs(windAt2m - 2.078)).toBeLessThan(0.0015); // printed 2.078; the formula gives 2.0793
    expect(unitsOff(es, 1.997, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(ea, 1.409, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(rs, 22.07, 2)).toBeLessThanOrEqual(1);
    expect(unitsOff(rso, 30.9, 2)).toBeLessThanOrEqual(1);
    expect(unitsOff(netRadiation, 13.28, 2)).toBeLessThanOrEqual(1);
    const eto = referenceEvapotranspirationDay({
      meanTempC: 16.9,
      saturationVapourPressure: es,
      vapourPressure: ea,
      windAt2m,
      netRadiation,
      soilHeatFlux: 0,
      pressureKPa: atmosphericPressureKPa(100),
    });
    expect(unitsOff(eto, 3.88, 2)).toBeLessThanOrEqual(1);
    expect(eto).toBeCloseTo(3.88, 3); // independent script
  });
  test("example 19 by day: N'Diaye, 1 October, 14 to 15 h, evaporates 0.63 mm (memory)", () => {
    const ra = extraterrestrialRadiationHour({
      latitudeDeg: 16.22,
      longitudeDeg: -16.25,
      dayOfYear: 274,
      midHour: 14.5,
      zoneLongitudeDeg: -15,
      lengthHours: 1,
    });
    const rso = clearSkySolar(ra, 8);
    const ea = vapourPressureKPa(38, 52);
    const netRadiation =
      netShortwave(2.45) - netLongwaveHour({ airTempC: 38, vapourPressure: ea, clearShare: 2.45 / rso });
    const soilHeatFlux = soilHeatFluxHour(netRadiation, true);
    expect(unitsOff(ra, 3.543, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(rso, 2.658, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(netRadiation, 1.749, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(soilHeatFlux, 0.175, 3)).toBeLessThanOrEqual(1);
    const eto = referenceEvapotranspirationHour({
      meanTempC: 38,
      saturationVapourPressure: saturationVapourPressureKPa(38),
      vapourPressure: ea,
      windAt2m: 3.3,
      netRadiation,
      soilHeatFlux,
      pressureKPa: atmosphericPressureKPa(8),
    });
    expect(unitsOff(eto, 0.63, 2)).toBeLessThanOrEqual(1);
    expect(eto).toBeCloseTo(0.6269, 4); // independent script
  });
  test('example 19 by day, fed as a weather hour in UTC: 0.63 mm', () => {
    const hour = {
      ...emptyHour(Date.parse('2023-10-01T15:00Z')),
      airTempC: 38,
      relHumidityPercent: 52,
      windMPerS: 3.3,
      windHeightM: 2,
      solarWPerM2: 2.45e6 / 3600,
    };
    const [eto] = etoOfHours([hour], { latitudeDeg: 16.22, longitudeDeg: -16.25, elevationM: 8 });
    expect(unitsOff(eto?.etoMm ?? 0, 0.63, 2)).toBeLessThanOrEqual(1);
    expect(eto?.assumed).toEqual([]);
  });
  test('example 19 by night: 2 to 3 h evaporates nothing (memory)', () => {
    const ra = extraterrestrialRadiationHour({
      latitudeDeg: 16.22,
      longitudeDeg: -16.25,
      dayOfYear: 274,
      midHour: 2.5,
      zoneLongitudeDeg: -15,
      lengthHours: 1,
    });
    expect(ra).toBe(0);
    const ea = vapourPressureKPa(28, 90);
    const netRadiation = -netLongwaveHour({ airTempC: 28, vapourPressure: ea, clearShare: 0.8 });
    const soilHeatFlux = soilHeatFluxHour(netRadiation, false);
    expect(unitsOff(netRadiation, -0.1, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(soilHeatFlux, -0.05, 3)).toBeLessThanOrEqual(1);
    const eto = referenceEvapotranspirationHour({
      meanTempC: 28,
      saturationVapourPressure: saturationVapourPressureKPa(28),
      vapourPressure: ea,
      windAt2m: 1.9,
      netRadiation,
      soilHeatFlux,
      pressureKPa: atmosphericPressureKPa(8),
    });
    expect(unitsOff(eto, 0, 2)).toBeLessThanOrEqual(1);
    expect(eto).toBeCloseTo(0.0043, 4); // independent script
  });
  test('example 20: Lyon in July evaporates 4.56 mm by Penman-Monteith from temperature (memory but ea)', () => {
    const ea = saturationVapourPressureKPa(14.8);
    expect(unitsOff(ea, 1.68, 2)).toBeLessThanOrEqual(1);
    const ra = radiationOfDay(45.72, 196);
    expect(unitsOff(ra, 40.6, 1)).toBeLessThanOrEqual(1);
    const rs = 0.16 * Math.sqrt(26.6 - 14.8) * ra; // eq. 50
    const netRadiation = netShortwave(rs) - longwaveOfDay(26.6, 14.8, ea, rs / clearSkySolar(ra, 200));
    const eto = referenceEvapotranspirationDay({
      meanTempC: 20.7,
      saturationVapourPressure: meanSaturation(26.6, 14.8),
      vapourPressure: ea,
      windAt2m: 2,
      netRadiation,
      soilHeatFlux: 0,
      pressureKPa: atmosphericPressureKPa(200),
    });
    expect(unitsOff(eto, 4.56, 2)).toBeLessThanOrEqual(1);
  });
  test('box 4: the resistance of 0.12 m grass is 208 s/m at 1 m/s (memory)', () =>
    expect(unitsOff(aerodynamicResistanceSPerM(1, 0.12), 208, 0)).toBeLessThanOrEqual(1));
});

test('24 hours of hourly radiation add up to the day, anywhere, on any day of the year (eq. 21)', () => {
  for (const latitudeDeg of [-80, -33, 0, 41, 66.5, 78]) {
    for (const dayOfYear of [1, 80, 172, 266, 355]) {
      const [phi, delta] = [(latitudeDeg * Math.PI) / 180, declination(dayOfYear)];
      const ws = sunsetAngle(latitudeDeg, dayOfYear);
      const distance = 1 + 0.033 * Math.cos(((2 * Math.PI) / 365) * dayOfYear); // eq. 23
      const day =
        ((24 * 60) / Math.PI) *
        0.082 *
        distance *
        (ws * Math.sin(phi) * Math.sin(delta) + Math.cos(phi) * Math.cos(delta) * Math.sin(ws));
      expect(radiationOfDay(latitudeDeg, dayOfYear, -93.6)).toBeCloseTo(day, 6);
    }
  }
});
