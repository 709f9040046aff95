import { expect, test } from 'vitest';
import { addWeatherHours } from '@/lib/diary/weather-hours';
import { planWindow, weatherAround } from '@/lib/work/weather/plan-window';
import { plainLawn, useFreshDiary } from '../support/diary';

useFreshDiary();

const START = new Date('2026-05-21T01:00:00Z');
const NOTHING = { airTempC: null, relHumidityPercent: null, windMPerS: null };
const TYPED = { airTempC: 22, relHumidityPercent: 45, windMPerS: 1.5 };

test('without a place, or without weather, the window says what is missing', async () => {
  expect(await planWindow(await plainLawn(), START, 600, TYPED)).toEqual({
    kind: 'missing',
    missing: ['the lawn’s latitude and longitude'],
  });
  const placed = await plainLawn({ latitudeDeg: 40, longitudeDeg: -105 });
  expect(await planWindow(placed, START, 600, { ...TYPED, windMPerS: null })).toEqual({
    kind: 'missing',
    missing: ['weather hours for that time, or typed wind'],
  });
});

test('typed weather gives an estimate, and the diary’s hours win over it', async () => {
  const lawn = await plainLawn({ latitudeDeg: 40, longitudeDeg: -105, elevationM: 1600 });
  const typed = await planWindow(lawn, START, 600, TYPED);
  expect(typed).toMatchObject({ kind: 'estimate', basis: 'typed', drying: { kind: 'dries' } });
  await addWeatherHours(
    lawn.id,
    Array.from({ length: 30 }, (_, hour) => ({
      hourStart: new Date(START.getTime() + (hour - 2) * 3_600_000),
      airTempC: 20 + hour / 10,
      relHumidityPercent: 40,
      windMPerS: 2,
      windHeightM: 2,
      rainMm: 0,
      solarWPerM2: 0,
      source: 'test',
    })),
  );
  expect(await planWindow(lawn, START, 600, NOTHING)).toMatchObject({
    kind: 'estimate',
    basis: 'hours',
    drying: { kind: 'dries' },
  });
  expect(await weatherAround(lawn.id, START)).toEqual({ warmestC: 22.5, relHumidityPercent: 40, windMPerS: 2 });
});

test('twice the carrier volume takes longer to dry', async () => {
  const lawn = await plainLawn({ latitudeDeg: 40, longitudeDeg: -105 });
  const minutes = async (carrierLPerHa: number) => {
    const window = await planWindow(lawn, START, carrierLPerHa, TYPED);
    return window.kind === 'estimate' && window.drying.kind === 'dries' ? window.drying.minutes : Number.NaN;
  };
  expect(await minutes(800)).toBeGreaterThan(1.5 * (await minutes(400)));
});
