import 'server-only';
import { groupedRegression, type GroupedRegression } from '@/lib/stats/grouped-regression';
import { regress, type RegressionResult } from '@/lib/stats/regression';
import { confounding, type Confounding } from '@/lib/trial/response-table';
import { MOST_GROUPED, type FactorRow, type ResponseFactors } from './response-factors';
import type { Factor } from './factors';

export interface FactorAnswer {
  shown: FactorRow[];
  regression: RegressionResult;
  /**
   * The same line with plots of one spray, and sprays of one plot, counted as going together; null where rows share
   * neither.
   */
  grouped: GroupedRegression | null;
  /** Latest sprays that the grouped line looks at, where there are more. */
  groupedSprays: number | null;
  /** Rows whose Cook's distance is above 4/n: the line leans on them. */
  influential: { row: FactorRow; cooksDistance: number }[];
  confounding: Confounding;
}

/** Regression of the response on one factor (and a second, when coloured by one), and what moves with what. */
export function answerFor(
  all: ResponseFactors,
  x: Factor,
  second: Factor | null,
  keep: (row: FactorRow) => boolean,
): FactorAnswer {
  const names = [x.name, ...(second ? [second.name] : [])];
  const shown = all.rows.filter((row) => keep(row) && names.every((name) => typeof row.x[name] === 'number'));
  const regression = regress(
    shown.map((row) => row.response),
    Object.fromEntries(names.map((name) => [name, shown.map((row) => row.x[name] as number)])),
  );
  const influential = regression.ok
    ? regression.fit.observations.flatMap(({ cooksDistance }, i) =>
        cooksDistance !== null && cooksDistance > 4 / shown.length
          ? [{ row: shown[i] as FactorRow, cooksDistance }]
          : [],
      )
    : [];
  // What may stand behind x: every factor that varied among the sprays shown, products' rates by their nutrients.
  const others = all.factors.filter(
    (factor) =>
      factor.key !== x.key &&
      !factor.key.startsWith('rate-') &&
      shown.length > 0 &&
      shown.every((row) => typeof row.x[factor.name] === 'number') &&
      new Set(shown.map((row) => row.x[factor.name])).size > 1,
  );
  const latest = [...new Map(shown.map((row) => [row.spray, row.sprayAt.getTime()])).entries()]
    .sort((a, b) => b[1] - a[1])
    .slice(0, MOST_GROUPED)
    .map(([spray]) => spray);
  const recent = new Set(latest);
  const rows = shown.filter((row) => recent.has(row.spray));
  const application = rows.map((row) => `${row.spray} ${row.plot}`);
  const grouped = regression.ok
    ? groupedRegression(
        rows.map((row) => row.response),
        Object.fromEntries(names.map((name) => [name, rows.map((row) => row.x[name] as number)])),
        {
          spray: rows.map((row) => row.spray),
          plot: rows.map((row) => row.plot),
          ...(new Set(application).size < rows.length ? { 'plot in a spray': application } : {}),
        },
      )
    : null;
  const more = new Set(shown.map((row) => row.spray)).size > MOST_GROUPED;
  return {
    shown,
    regression,
    grouped,
    groupedSprays: more ? MOST_GROUPED : null,
    influential,
    confounding: confounding(shown, [...new Set([...names, ...others.map((factor) => factor.name)])]),
  };
}
