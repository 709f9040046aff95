/**
 * Worked examples of Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56.
 * Answers seen in the public test suites of two evapotranspiration libraries (PyETo tests/test_fao.py, pyet
 * tests/testfao56.py) and recomputed with an independent script; those marked (memory) were only recomputed. Units in
 * the names; one unit of the last printed digit is allowed, half where the printed inputs permit. A widely copied test
 * labels example 18 'Bangkok': it is Uccle.
 */
import { describe, expect, test } from 'vitest';
import {
  MM_PER_MJ_PER_M2,
  hargreavesEvapotranspirationDay,
  referenceEvapotranspirationDay,
  referenceEvapotranspirationHour,
  soilHeatFluxHour,
  soilHeatFluxMonth,
  soilHeatFluxMonthSoFar,
} from '@/lib/weather/evapotranspiration';
import { etoOfHours } from '@/lib/weather/eto-hours';
import { emptyHour } from '@/lib/weather/hour';
import {
  dayVapourPressureFromMaxHumidityKPa,
  dayVapourPressureFromMeanHumidityKPa,
  dayVapourPressureKPa,
  vapourPressureFromWetBulbKPa,
  vapourPressureKPa,
} from '@/lib/weather/humidity';
import { atmosphericPressureKPa, psychrometricConstantKPaPerC } from '@/lib/weather/pressure';
import {
  clearSkySolar,
  daylightHours,
  extraterrestrialRadiationDay,
  extraterrestrialRadiationHour,
  netLongwaveDay,
  netLongwaveHour,
  netShortwave,
  solarDay,
  solarFromSunshine,
  solarFromTemperatureRange,
  sunsetHourAngle,
} from '@/lib/weather/radiation';
import { meanSaturationVapourPressureKPa, saturationVapourPressureKPa } from '@/lib/weather/saturation';
import { aerodynamicResistanceSPerM, windAt2mMPerS } from '@/lib/weather/wind';

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
    expect(unitsOff(meanSaturationVapourPressureKPa(24.5, 15), 2.39, 2)).toBeLessThanOrEqual(1);
  });
  test('example 4: dry 25.6, wet 19.5 °C aspirated at 1200 m hold 1.91 kPa', () => {
    expect(unitsOff(atmosphericPressureKPa(1200), 87.9, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(saturationVapourPressureKPa(19.5), 2.267, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(vapourPressureFromWetBulbKPa(25.6, 19.5, 87.9), 1.91, 2)).toBeLessThanOrEqual(1);
  });
  test('example 5: 18 to 25 °C with 82 to 54 % hold 1.70 kPa; 1.69 by the maximum, 1.78 by the mean', () => {
    expect(
      unitsOff(
        dayVapourPressureKPa({ maxTempC: 25, minTempC: 18, maxRelHumidityPercent: 82, minRelHumidityPercent: 54 }),
        1.7,
        2,
      ),
    ).toBeLessThanOrEqual(1);
    expect(unitsOff(dayVapourPressureFromMaxHumidityKPa(18, 82), 1.69, 2)).toBeLessThanOrEqual(1);
    expect(unitsOff(dayVapourPressureFromMeanHumidityKPa(25, 18, 68), 1.78, 2)).toBeLessThanOrEqual(1);
  });
  test('example 6 (memory): the deficit of that day is 0.91 kPa', () => {
    const ea = dayVapourPressureKPa({
      maxTempC: 25,
      minTempC: 18,
      maxRelHumidityPercent: 82,
      minRelHumidityPercent: 54,
    });
    expect(unitsOff(meanSaturationVapourPressureKPa(25, 18) - ea, 0.91, 2)).toBeLessThanOrEqual(1);
  });
  test('example 8: 20° S on 3 September gets 32.2 MJ/m²', () => {
    const { inverseDistance, declinationRad } = solarDay(246);
    expect(unitsOff(inverseDistance, 0.985, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(declinationRad, 0.12, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(sunsetHourAngle(-20, 246).sunsetHourAngleRad, 1.527, 3)).toBeLessThanOrEqual(1);
    expect(unitsOff(extraterrestrialRadiationDay(-20, 246), 32.2, 1)).toBeLessThanOrEqual(1);
    expect(extraterrestrialRadiationDay(-20, 246)).toBeCloseTo(32.194, 3); // independent script
  });
  test('example 9: that day is 11.7 h long', () =>
    expect(unitsOff(daylightHours(-20, 246), 11.7, 1)).toBeLessThanOrEqual(1));
  test('example 10: Rio de Janeiro on 15 May with 7.1 h of sun gets 14.45 MJ/m²', () => {
    const ra = extraterrestrialRadiationDay(-22.9, 135);
    const n = daylightHours(-22.9, 135);
    expect(unitsOff(ra, 25.1, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(n, 10.9, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(solarFromSunshine(ra, 7.1, n), 14.45, 2)).toBeLessThanOrEqual(1); // printed from rounded Ra and N
    expect(solarFromSunshine(25.1, 7.1, 10.9)).toBeCloseTo(14.45, 2);
  });
  test('example 11: it loses 3.5 MJ/m² of heat', () => {
    const rso = clearSkySolar(extraterrestrialRadiationDay(-22.9, 135), 0);
    expect(unitsOff(rso, 18.8, 1)).toBeLessThanOrEqual(1);
    expect(
      unitsOff(
        netLongwaveDay({ maxTempC: 25.1, minTempC: 19.1, vapourPressure: 2.1, clearShare: 14.5 / 18.8 }),
        3.5,
        1,
      ),
    ).toBeLessThanOrEqual(1);
  });
  test('example 12: its net radiation is 7.6 MJ/m², 11.1 of it short-wave', () => {
    const rns = netShortwave(14.5);
    expect(unitsOff(rns, 11.1, 1)).toBeLessThanOrEqual(1);
    expect(
      unitsOff(
        rns - netLongwaveDay({ maxTempC: 25.1, minTempC: 19.1, vapourPressure: 2.1, clearShare: 14.5 / 18.8 }),
        7.6,
        1,
      ),
    ).toBeLessThanOrEqual(1);
  });
  test('example 13: March 14.1 and May 18.8 °C warm the soil by 0.33 MJ/m² a day, 0.13 mm', () => {
    expect(unitsOff(soilHeatFluxMonth(14.1, 18.8), 0.33, 2)).toBeLessThanOrEqual(1);
    expect(unitsOff(soilHeatFluxMonth(14.1, 18.8) * MM_PER_MJ_PER_M2, 0.13, 2)).toBeLessThanOrEqual(1);
  });
  test('example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m', () =>
    expect(unitsOff(windAt2mMPerS(3.2, 10), 2.4, 1)).toBeLessThanOrEqual(1));
  test('example 15: 45.72° N in July, 26.6 to 14.8 °C, gets 22.3 MJ/m²', () => {
    const ra = extraterrestrialRadiationDay(45.72, 196);
    expect(unitsOff(ra, 40.6, 1)).toBeLessThanOrEqual(1);
    expect(unitsOff(solarFromTemperatureRange(ra, 26.6, 14.8, 0.16), 22.3, 1)).toBeLessThanOrEqual(1);
  });
  test('example 17: Bangkok in April evaporates 5.72 mm a day', () => {
    const ra = extraterrestrialRadiationDay(13.73, 105);
    const rs = solarFromSunshine(ra, 8.5, daylightHours(13.73, 105));
    const clearShare = rs / clearSkySolar(ra, 2);
    const netRadiation =
      netShortwave(rs) - netLongwaveDay({ maxTempC: 34.8, minTempC: 25.6, vapourPressure: 2.85, clearShare });
    const soilHeatFlux = soilHeatFluxMonthSoFar(29.2, 30.2);
    expect(unitsOff(netRadiation, 14.33, 2)).toBeLessThanOrEqual(1);
    expect(unitsOff(soilHeatFlux, 0.14, 2)).toBeLessThanOrEqual(1);
    const eto = referenceEvapotranspirationDay({
      meanTempC: 30.2,
      saturationVapourPressure: meanSaturationVapourPressureKPa(34.8, 25.6),
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
    const es = meanSaturationVapourPressureKPa(21.5, 12.3);
    const ea = dayVapourPressureKPa({
      maxTempC: 21.5,
      minTempC: 12.3,
      maxRelHumidityPercent: 84,
      minRelHumidityPercent: 63,
    });
    const ra = extraterrestrialRadiationDay(50.8, 187);
    const rs = solarFromSunshine(ra, 9.25, daylightHours(50.8, 187));
    const rso = clearSkySolar(ra, 100);
    const netRadiation =
      netShortwave(rs) - netLongwaveDay({ maxTempC: 21.5, minTempC: 12.3, vapourPressure: ea, clearShare: rs / rso });
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
  test('example 20: Lyon in July evaporates 4.56 mm by Penman-Monteith from temperature, 5.03 by Hargreaves (memory but ea)', () => {
    const ea = saturationVapourPressureKPa(14.8);
    expect(unitsOff(ea, 1.68, 2)).toBeLessThanOrEqual(1);
    const ra = extraterrestrialRadiationDay(45.72, 196);
    const rs = solarFromTemperatureRange(ra, 26.6, 14.8, 0.16);
    const netRadiation =
      netShortwave(rs) -
      netLongwaveDay({ maxTempC: 26.6, minTempC: 14.8, vapourPressure: ea, clearShare: rs / clearSkySolar(ra, 200) });
    const eto = referenceEvapotranspirationDay({
      meanTempC: 20.7,
      saturationVapourPressure: meanSaturationVapourPressureKPa(26.6, 14.8),
      vapourPressure: ea,
      windAt2m: 2,
      netRadiation,
      soilHeatFlux: 0,
      pressureKPa: atmosphericPressureKPa(200),
    });
    expect(unitsOff(eto, 4.56, 2)).toBeLessThanOrEqual(1);
    expect(unitsOff(hargreavesEvapotranspirationDay(26.6, 14.8, ra), 5.03, 2)).toBeLessThanOrEqual(1);
  });
  test('box 4: the resistance of 0.12 m grass is 208 s/m at 1 m/s (memory)', () =>
    expect(unitsOff(aerodynamicResistanceSPerM(1, 0.12), 208, 0)).toBeLessThanOrEqual(1));
});

test('24 hours of hourly radiation add up to the day, anywhere, on any day of the year', () => {
  for (const latitudeDeg of [-80, -33, 0, 41, 66.5, 78]) {
    for (const dayOfYear of [1, 80, 172, 266, 355]) {
      let sum = 0;
      for (let hour = 0; hour < 24; hour += 1) {
        sum += extraterrestrialRadiationHour({
          latitudeDeg,
          longitudeDeg: -93.6,
          dayOfYear,
          midHour: hour + 0.5,
          zoneLongitudeDeg: 0,
          lengthHours: 1,
        });
      }
      expect(sum).toBeCloseTo(extraterrestrialRadiationDay(latitudeDeg, dayOfYear), 6);
    }
  }
});
