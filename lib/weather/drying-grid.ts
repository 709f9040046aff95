import { HOUR_MS } from '@/lib/units/time';
import { expectAtLeast } from '@/lib/expect';
import type { DryingResult, FilmPlan } from '@/lib/weather/drying';
import { dryingTime } from '@/lib/weather/drying';
import type { WeatherHour, WeatherPlace } from '@/lib/weather/hour';

export interface DryingGrid {
  readonly startsUtcMs: readonly number[];
  readonly carriersLPerHa: readonly number[];
  /** cells[i][j]: start i, carrier j. `minutes` is null unless the film dries. */
  readonly cells: readonly (readonly { readonly kind: DryingResult['kind']; readonly minutes: number | null }[])[];
}

/**
 * Drying time for each start and carrier volume: the table that shows when more water would help.
 * @param startsUtcMs starts to try, such as each hour of a day
 * @param film wetted leaf area and grass height, alike for all cells
 * @throws RangeError as dryingTime, and on an empty list
 */
export function dryingGrid(
  startsUtcMs: readonly number[],
  carriersLPerHa: readonly number[],
  film: Pick<FilmPlan, 'wettedLeafAreaM2PerM2' | 'canopyHeightM'>,
  hours: readonly WeatherHour[],
  place: WeatherPlace,
  maxHours = 24,
): DryingGrid {
  expectAtLeast('startsUtcMs', startsUtcMs, 1);
  expectAtLeast('carriersLPerHa', carriersLPerHa, 1);
  const cells = startsUtcMs.map((startUtcMs) => {
    const near = hours.filter(
      (hour) =>
        hour.hourStartUtcMs >= startUtcMs - 25 * HOUR_MS && hour.hourStartUtcMs <= startUtcMs + maxHours * HOUR_MS,
    );
    return carriersLPerHa.map((carrierLPerHa) => {
      const result = dryingTime({ ...film, startUtcMs, carrierLPerHa }, near, place, maxHours);
      return { kind: result.kind, minutes: result.kind === 'dries' ? result.minutes : null };
    });
  });
  return { startsUtcMs, carriersLPerHa, cells };
}
