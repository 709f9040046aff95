import { correlation, varianceInflation } from '@/lib/stats/regression';

/** The days after a spray at which the response is read, and how far off a photo may be (days). */
export const RESPONSE_HORIZONS: readonly { readonly day: number; readonly toleranceDays: number }[] = [
  { day: 3, toleranceDays: 1 },
  { day: 7, toleranceDays: 2 },
  { day: 14, toleranceDays: 3 },
];

/** One spray on one plot, with the numbers it is known by (rate, carrier volume, temperature …; null where unknown). */
export interface SprayedPlot {
  readonly spray: string;
  readonly plot: string;
  /** Day number of the spray (any count of days, the same for all). */
  readonly day: number;
  readonly x: Readonly<Record<string, number | null>>;
}

/** Colour change of a plot against the check, in the photo of one day, measured from before the spray named. */
export interface ResponseReading {
  readonly spray: string;
  readonly plot: string;
  readonly day: number;
  readonly photo: string;
  readonly response: number;
}

/** One dot of the response chart. */
export interface ResponseRow {
  readonly spray: string;
  readonly plot: string;
  readonly horizon: number;
  readonly daysAfter: number;
  readonly photo: string;
  readonly response: number;
  readonly x: Readonly<Record<string, number | null>>;
  /** Other sprays on the same plot between this one and the photo: the response is not this spray's alone. */
  readonly alsoSprayed: readonly string[];
}

/**
 * Response rows at each horizon: the photo nearest to it within tolerance (the earlier one when two are equally near).
 */
export function responseRows(
  sprayed: readonly SprayedPlot[],
  readings: readonly ResponseReading[],
  horizons = RESPONSE_HORIZONS,
): ResponseRow[] {
  return sprayed.flatMap((one) =>
    horizons.flatMap(({ day, toleranceDays }): ResponseRow[] => {
      const near = readings
        .filter(
          (reading) =>
            reading.spray === one.spray &&
            reading.plot === one.plot &&
            Math.abs(reading.day - one.day - day) <= toleranceDays,
        )
        .sort((a, b) => Math.abs(a.day - one.day - day) - Math.abs(b.day - one.day - day) || a.day - b.day)[0];
      if (near === undefined) return [];
      const alsoSprayed = sprayed
        .filter(
          (other) =>
            other.spray !== one.spray && other.plot === one.plot && other.day >= one.day && other.day < near.day,
        )
        .map((other) => other.spray);
      return [
        {
          spray: one.spray,
          plot: one.plot,
          horizon: day,
          daysAfter: near.day - one.day,
          photo: near.photo,
          response: near.response,
          x: one.x,
          alsoSprayed,
        },
      ];
    }),
  );
}

/** What moves with what. */
export interface Confounding {
  readonly rowsUsed: number;
  readonly pairs: readonly { readonly a: string; readonly b: string; readonly r: number }[];
  readonly constant: readonly string[];
  readonly vif: Readonly<Record<string, number | null>>;
  /** Plain sentences, most important first. */
  readonly sentences: readonly string[];
}

/** From this correlation on two x's are called moving together. Common practice, no source. */
const TOGETHER = 0.7;
/**
 * From this inflation on an x is called a mixture of the others (Belsley, Kuh & Welsch 1980 discuss 10; 5 is common
 * practice).
 */
const INFLATED = 5;

/**
 * Which x's of the rows move together, so that a slope of one may be the other's work. One spray counts once, however
 * many plots it covered; rows without all the x's named are left out.
 */
export function confounding(rows: readonly ResponseRow[], names: readonly string[]): Confounding {
  const bySpray = new Map<string, ResponseRow>();
  for (const row of rows) {
    if (names.every((name) => typeof row.x[name] === 'number'))
      bySpray.set(JSON.stringify([row.spray, names.map((name) => row.x[name])]), row);
  }
  const used = [...bySpray.values()];
  const column = (name: string): number[] => used.map((row) => row.x[name]!);
  const sentences = [
    'A diary shows what went together, not what caused what: when, where and how much was sprayed was chosen, not drawn by lot.',
  ];
  const none = Object.fromEntries(names.map((name) => [name, null]));
  if (used.length < 3) {
    return {
      rowsUsed: used.length,
      pairs: [],
      constant: [],
      vif: none,
      sentences: [
        ...sentences,
        `Only ${used.length} ${used.length === 1 ? 'spray has' : 'sprays have'} all of ${names.join(', ')}: too few to tell what moves with what.`,
      ],
    };
  }
  const constant = names.filter((name) => new Set(column(name)).size === 1);
  for (const name of constant)
    sentences.push(`${name} was the same in all ${used.length} sprays, so nothing can be said about it.`);
  const varying = names.filter((name) => !constant.includes(name));
  const pairs = varying
    .flatMap((a, i) => varying.slice(i + 1).map((b) => ({ a, b, r: correlation(column(a), column(b))! })))
    .filter(({ r }) => Math.abs(r) >= TOGETHER);
  pairs.sort((one, other) => Math.abs(other.r) - Math.abs(one.r));
  for (const { a, b, r } of pairs) {
    sentences.push(
      `${a} and ${b} moved ${r > 0 ? 'together' : 'against each other'} in these ${used.length} sprays (r = ${r.toFixed(2)}): their effects cannot be told apart here.`,
    );
  }
  const factors = used.length > varying.length + 1 ? varianceInflation(varying.map(column)) : varying.map(() => null);
  const vif = { ...none, ...Object.fromEntries(varying.map((name, i) => [name, factors[i] ?? null])) };
  for (const name of varying) {
    const value = vif[name] ?? null;
    if (value !== null && value >= INFLATED && !pairs.some((pair) => pair.a === name || pair.b === name)) {
      sentences.push(
        `${name} is nearly a mixture of the others (variance inflation ${value === Infinity ? 'without limit' : value.toFixed(1)}): its slope is hardly its own.`,
      );
    }
  }
  if (used.length <= varying.length + 1)
    sentences.push(`${used.length} sprays are too few to look at ${varying.length} numbers at once.`);
  const mixed = new Set(rows.filter((row) => row.alsoSprayed.length > 0).map((row) => row.spray)).size;
  if (mixed > 0)
    sentences.push(
      `After ${mixed} of the sprays the plot was sprayed again before the photo: those responses are not one spray's alone.`,
    );
  if (pairs.length === 0 && constant.length === 0 && sentences.length === 1)
    sentences.push(`No two of ${names.join(', ')} moved closely together in these ${used.length} sprays.`);
  return { rowsUsed: used.length, pairs, constant, vif, sentences };
}
