import { describe, expect, test } from 'vitest';
import { demoScenario } from '@/lib/demo/scenario';

const { weatherHours: hours, sprays, photos, lawn } = demoScenario();
const at = (local: string) => {
  const utc = new Date(Date.parse(`${local.slice(0, 13)}:00:00Z`) - 120 * 60_000).toISOString();
  const found = hours.find(({ hourStart }) => hourStart === utc);
  if (!found) throw new Error(`no weather hour at ${utc}`);
  return found;
};

/** Mean over the period of what is picked from the hour beginning at `hour` o'clock UTC. */
const mean = (hour: string, pick: (h: (typeof hours)[number]) => number) => {
  const some = hours.filter(({ hourStart }) => hourStart.slice(11, 13) === hour);
  return some.reduce((sum, h) => sum + pick(h), 0) / some.length;
};

const solar = (sunny: boolean) =>
  photos.filter(({ light }) => light.sunny === sunny).map(({ takenAtLocal }) => at(takenAtLocal).solarWPerM2);

describe('the weather of the demo', () => {
  test('covers 36 local days hour by hour without a gap', () => {
    expect(hours).toHaveLength(36 * 24);
    expect(hours[0]?.hourStart).toBe('2026-04-12T22:00:00.000Z');
    for (let i = 1; i < hours.length; i++) {
      expect(
        Date.parse((hours[i] as { hourStart: string }).hourStart) -
          Date.parse((hours[i - 1] as { hourStart: string }).hourStart),
      ).toBe(3_600_000);
    }
  });

  test('the offset used is the lawn time zone offset on the first and last day', () => {
    for (const { takenAtLocal, utcOffsetMinutes } of photos) {
      const utc = new Date(Date.parse(`${takenAtLocal}Z`) - utcOffsetMinutes * 60_000);
      const shown = new Intl.DateTimeFormat('sv-SE', {
        timeZone: lawn.timeZone,
        dateStyle: 'short',
        timeStyle: 'medium',
      }).format(utc);
      expect(shown.replace(' ', 'T')).toBe(takenAtLocal);
    }
  });

  test('every hour lies within what a temperate spring brings', () => {
    for (const hour of hours) {
      expect(hour.airTempC).toBeGreaterThan(-3);
      expect(hour.airTempC).toBeLessThan(33);
      expect(hour.relHumidityPercent).toBeGreaterThanOrEqual(10);
      expect(hour.relHumidityPercent).toBeLessThanOrEqual(100);
      expect(hour.windMPerS).toBeGreaterThanOrEqual(0);
      expect(hour.windMPerS).toBeLessThan(9);
      expect(hour.gustMPerS).toBeGreaterThan(hour.windMPerS);
      expect(hour.windFromDeg).toBeGreaterThanOrEqual(0);
      expect(hour.windFromDeg).toBeLessThan(360);
      expect(hour.rainMm).toBeGreaterThanOrEqual(0);
      expect(hour.rainMm).toBeLessThan(15);
      expect(hour.solarWPerM2).toBeGreaterThanOrEqual(0);
      expect(hour.solarWPerM2).toBeLessThan(1000);
      expect(hour.pressureKPa).toBeGreaterThan(97);
      expect(hour.pressureKPa).toBeLessThan(104);
    }
  });

  test('the air changes smoothly: never more than 4 degrees from one hour to the next', () => {
    for (let i = 1; i < hours.length; i++) {
      expect(Math.abs((hours[i]?.airTempC ?? 0) - (hours[i - 1]?.airTempC ?? 0))).toBeLessThan(4);
    }
  });

  test('nights are dark, noons are bright, afternoons warmer than dawns on average', () => {
    expect(mean('23', (h) => h.solarWPerM2)).toBe(0);
    expect(mean('11', (h) => h.solarWPerM2)).toBeGreaterThan(300);
    expect(mean('13', (h) => h.airTempC) - mean('03', (h) => h.airTempC)).toBeGreaterThan(4);
    expect(mean('13', (h) => h.relHumidityPercent)).toBeLessThan(mean('03', (h) => h.relHumidityPercent));
  });

  test('it rains on some days, and not on a day of spraying or of a photo', () => {
    const rainyDays = new Set(hours.filter(({ rainMm }) => rainMm > 0).map(({ hourStart }) => hourStart.slice(0, 10)));
    expect(rainyDays.size).toBeGreaterThanOrEqual(4);
    for (const local of [...sprays.map((s) => s.startedLocal), ...photos.map((p) => p.takenAtLocal)])
      expect(at(local).rainMm).toBe(0);
  });

  test('the late spray of the last round met drier and windier air than every other spray', () => {
    const late = at('2026-05-08T10:45:00');
    for (const spray of sprays.filter(({ id }) => id !== '3-full-iron')) {
      expect(late.relHumidityPercent).toBeLessThan(at(spray.startedLocal).relHumidityPercent);
      expect(late.airTempC).toBeGreaterThan(at(spray.startedLocal).airTempC);
    }
    expect(late.windMPerS).toBeGreaterThan(2.5);
  });

  test('the sun shone at every photo drawn in sunlight and not at those drawn under cloud', () => {
    expect(Math.min(...solar(true))).toBeGreaterThan(Math.max(...solar(false)) + 100);
  });
});
