/** A response on a day: change against the check, in index units. */
export interface CurvePoint {
  /** Days since the spray; 0 or the day before is the baseline. */
  readonly day: number;
  readonly response: number;
}

/** The curve in a few numbers, all from straight lines between the photos. */
export interface CurveSummary {
  /** Largest response seen. */
  readonly peak: number;
  readonly daysToPeak: number;
  /** Days on which the line lies above `threshold`. */
  readonly daysAbove: number;
  /** Area under the curve from first to last photo, index × days (parts below the check count as negative). */
  readonly area: number;
  /** Area divided by days covered: the mean response. */
  readonly meanResponse: number;
  readonly firstDay: number;
  readonly lastDay: number;
  /** True when the last photo is still above the threshold: the effect outlasted the photos. */
  readonly stillAboveAtEnd: boolean;
}

/**
 * Peak, days to peak, days above the check and area under the response curve (trapezoids between photos).
 * Null with fewer than two days. Several values on one day are averaged.
 * @param threshold response counted as "above the check" (default 0; better the noise of a difference, about 0.005)
 * @see Campbell & Madden 1990, Introduction to Plant Disease Epidemiology, for the area under a progress curve
 */
export function summariseCurve(points: readonly CurvePoint[], threshold = 0): CurveSummary | null {
  const days = [...new Set(points.map((point) => point.day))].sort((a, b) => a - b);
  if (days.length < 2) return null;
  const values = days.map((day) => {
    const same = points.filter((point) => point.day === day);
    return same.reduce((sum, point) => sum + point.response, 0) / same.length;
  });
  let area = 0;
  let daysAbove = 0;
  for (let i = 1; i < days.length; i++) {
    const width = days[i]! - days[i - 1]!;
    const [a, b] = [values[i - 1]! - threshold, values[i]! - threshold];
    area += (width * (values[i - 1]! + values[i]!)) / 2;
    if (a > 0 && b > 0) daysAbove += width;
    else if (a > 0 !== b > 0) daysAbove += (width * Math.max(a, b)) / (Math.abs(a) + Math.abs(b));
  }
  const peak = Math.max(...values);
  const [firstDay, lastDay] = [days[0]!, days.at(-1)!];
  return {
    peak,
    daysToPeak: days[values.indexOf(peak)]!,
    daysAbove,
    area,
    meanResponse: area / (lastDay - firstDay),
    firstDay,
    lastDay,
    stillAboveAtEnd: values.at(-1)! > threshold,
  };
}

/**
 * Cost of one unit of response (money per index × day of area), or null when there was no gain to pay for.
 * @param costPerArea money per m² (or any area, as long as all treatments use the same)
 */
export function costPerUnitResponse(costPerArea: number, area: number): number | null {
  return area > 0 && Number.isFinite(costPerArea) && costPerArea >= 0 ? costPerArea / area : null;
}
