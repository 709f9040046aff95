import { createSprayer } from '@/lib/diary/sprayers';

/** A knapsack of 15 litres that puts down 800 litres a hectare. */
export const testSprayer = (lawnId: string) =>
  createSprayer(lawnId, {
    name: 'Knapsack',
    tankL: 15,
    tankEnteredValue: 15,
    tankEnteredUnit: 'L',
    carrierLPerHa: 800,
    carrierEnteredValue: null,
    carrierEnteredUnit: null,
    swathM: null,
    walkingMPerS: null,
    catchTestMl: null,
    catchTestAreaM2: null,
  });
