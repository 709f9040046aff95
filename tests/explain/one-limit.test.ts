import { expect, test } from 'vitest';
import { HEAT_CAUTION_C, HEAT_STOP_IRON_C } from '@/lib/spray/burn-checks';
import { heatLimits } from '@/lib/spray/grass-season';
import { DEFAULT_LIMITS } from '@/lib/weather/window-limits';

test('heat is the same for the plan, the window and the cause finder: 80 and 85 °F', () => {
  expect(heatLimits(null)).toMatchObject({ warmC: HEAT_CAUTION_C, hotC: HEAT_STOP_IRON_C });
  expect([DEFAULT_LIMITS.goodMaxTempC, DEFAULT_LIMITS.mostTempC]).toEqual([HEAT_CAUTION_C, HEAT_STOP_IRON_C]);
  expect(HEAT_CAUTION_C * 1.8 + 32).toBeCloseTo(80, 9);
});
