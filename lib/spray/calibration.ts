import { expectPositive } from '@/lib/expect';
import { ACRE_M2 } from '@/lib/units/exact';

/**
 * Carrier volume from a catch test over measured ground: collected or used volume over area.
 * @param collectedL above 0
 * @param areaM2 above 0
 * @returns L/ha
 * @throws RangeError for 0 or less
 */
export function carrierFromArea(collectedL: number, areaM2: number): number {
  return (expectPositive('collected', collectedL, 'L') / expectPositive('test area', areaM2, 'm2')) * 10_000;
}

/**
 * Carrier volume from flow, walking speed and width: L/ha = 10,000 Q / (60 v w).
 * The customary form is GPA = 5940 gpm / (mph × in).
 * @param flowLPerMin of everything that sprays into the width
 * @param speedMPerS above 0
 * @param widthM swath, or nozzle spacing with the flow of one nozzle
 * @throws RangeError for 0 or less
 */
export function carrierFromFlow(flowLPerMin: number, speedMPerS: number, widthM: number): number {
  return (
    (expectPositive('flow', flowLPerMin, 'L/min') /
      (60 * expectPositive('speed', speedMPerS, 'm/s') * expectPositive('width', widthM, 'm'))) *
    10_000
  );
}

/** Walking speed that gives a carrier volume, m/s. @throws RangeError for 0 or less */
export function speedForCarrier(carrierLPerHa: number, flowLPerMin: number, widthM: number): number {
  return (
    expectPositive('flow', flowLPerMin, 'L/min') /
    ((expectPositive('carrier volume', carrierLPerHa, 'L/ha') / 10_000) * 60 * expectPositive('width', widthM, 'm'))
  );
}

/** 1/128 acre, m² (340.31 ft²): fluid ounces used on it are gallons per acre, there being 128 fl oz in a gallon. */
export const ACRE_OVER_128_M2 = ACRE_M2 / 128;

/** Side of the square of 1/128 acre, m: 18.447 ft (published as 18.5 ft). */
export const SQUARE_SIDE_M = Math.sqrt(ACRE_OVER_128_M2);

/** How far to walk with a swath to cover 1/128 acre, m. @throws RangeError for 0 or less */
export function distanceFor128th(swathM: number): number {
  return ACRE_OVER_128_M2 / expectPositive('swath', swathM, 'm');
}

/**
 * Flow at another pressure by the square-root law: Q₂ = Q₁ √(p₂/p₁). Holds within the nozzle's rated range.
 * @throws RangeError for 0 or less
 */
export function flowAtPressure(flowLPerMin: number, atKPa: number, wantedKPa: number): number {
  return (
    expectPositive('flow', flowLPerMin, 'L/min') *
    Math.sqrt(expectPositive('wanted pressure', wantedKPa, 'kPa') / expectPositive('pressure', atKPa, 'kPa'))
  );
}

/**
 * Mean of several catches, the largest departure from it as a share, and whether a nozzle is worn: above 10 % is
 * (common practice, no source).
 */
export function catchSpread(catchesL: readonly number[]): {
  readonly meanL: number;
  readonly largestDepartureShare: number;
  readonly worn: boolean;
} {
  if (catchesL.length === 0) throw new RangeError('catches: expected at least 1 value, got 0');
  const meanL = catchesL.reduce((sum, caughtL) => sum + expectPositive('catch', caughtL, 'L'), 0) / catchesL.length;
  const largestDepartureShare = Math.max(...catchesL.map((caughtL) => Math.abs(caughtL / meanL - 1)));
  return { meanL, largestDepartureShare, worn: largestDepartureShare > 0.1 };
}

/** Walking speed from a timed course, m/s. 100 ft in 22.7 s is 3 mph. @throws RangeError for 0 or less */
export function walkingSpeedMPerS(distanceM: number, seconds: number): number {
  return expectPositive('distance', distanceM, 'm') / expectPositive('time', seconds, 's');
}
