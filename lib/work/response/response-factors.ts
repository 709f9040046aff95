import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { findLawn } from '@/lib/diary/lawns';
import { plotsPhotographed } from '@/lib/diary/photos';
import { findProducts } from '@/lib/diary/products';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { groupedRegression, type GroupedRegression } from '@/lib/stats/grouped-regression';
import { regress, type RegressionResult } from '@/lib/stats/regression';
import {
  confounding,
  responseRows,
  RESPONSE_HORIZONS,
  type Confounding,
  type ResponseReading,
  type ResponseRow,
  type SprayedPlot,
} from '@/lib/trial/response-table';
import { unitLabel, type UnitSystem } from '@/lib/units/display';
import { fromKPa } from '@/lib/units/pressure';
import { fromKgPerHa, fromLPerHa } from '@/lib/units/rate';
import { fromC } from '@/lib/units/temperature';
import { askChangesOnce, type AskChanges, type PlotChange } from '../photos/changes';
import { factsOfSpray, hoursAroundEach } from '../sprays/spray-facts';

/** Something a response can be held against: its key in the address, its name with unit as the axis shows it. */
export interface Factor {
  key: string;
  name: string;
}

export interface FactorRow extends ResponseRow {
  plotName: string;
  sprayAt: Date;
  /** Ids of the products in the spray. */
  products: string[];
}

export interface ResponseFactors {
  factors: Factor[];
  rows: FactorRow[];
  plots: { id: string; name: string }[];
  products: { id: string; name: string }[];
  /** Sprays left out since only the latest are looked at. */
  sprayLimit: number | null;
  /** How many photos are being worked out: their points are missing. */
  pending: number;
}

/** Latest sprays that are looked at. */
const MOST_SPRAYS = 200;
/** Latest sprays of the grouped line: its work grows with the cube of them. */
const MOST_GROUPED = 80;
/** Plans among them don't count. */
const MOST_PLANS = 101;
/** Plots that are looked at together for a point at another time. */
const MOST_AT_ONCE = 20;
const LAST_DAY = Math.max(...RESPONSE_HORIZONS.map(({ day, toleranceDays }) => day + toleranceDays));
const NUTRIENTS = ['N', 'P', 'K', 'S', 'Fe', 'Mn', 'Mg'] as const;

/**
 * Every spray's colour response some days after it, with what is known of the spray: one row a spray, plot and horizon.
 * Of the many photos of a season only those are looked up that a row may come from, the nearest first.
 * @param days the horizons wanted, days after the spray; what plots may be picked from is told from all of them
 */
export async function responseFactors(
  lawnId: string,
  days: readonly number[] = RESPONSE_HORIZONS.map(({ day }) => day),
): Promise<ResponseFactors | null> {
  const lawn = await findLawn(lawnId);
  if (!lawn) return null;
  const all = (await listSprays(lawnId, { limit: MOST_SPRAYS + MOST_PLANS })).filter((spray) => spray.state === 'done');
  const sprays = all.slice(0, MOST_SPRAYS);
  const oldest = sprays.at(-1)?.startedAt;
  if (!oldest) return { factors: [], rows: [], plots: [], products: [], sprayLimit: null, pending: 0 };
  const photos = await plotsPhotographed(
    lawnId,
    new Date(oldest.getTime() - 30 * DAY_MS),
    new Date((sprays[0]?.startedAt.getTime() ?? 0) + (LAST_DAY + 1) * DAY_MS - 1),
    Infinity,
  );
  const finder = new ResponseFinder(photos, askChangesOnce(lawnId));
  const wanted = RESPONSE_HORIZONS.filter(({ day }) => days.includes(day));
  const places = sprays.flatMap((spray) => spray.plots.map(({ plotId }) => ({ spray, plotId })));
  const responses = await finder.find(places.flatMap((place) => wanted.map((horizon) => ({ ...place, horizon }))));
  const plotIds = new Set(responses.map((response) => response.plot));
  for (const horizon of RESPONSE_HORIZONS.filter((one) => !wanted.includes(one))) {
    const others = places.filter(({ plotId }) => !plotIds.has(plotId));
    // A plot with a point at another time can be picked as well; its newest sprays tell.
    for (let at = 0; at < others.length; at += MOST_AT_ONCE) {
      const part = others.slice(at, at + MOST_AT_ONCE).filter(({ plotId }) => !plotIds.has(plotId));
      for (const response of await finder.find(part.map((place) => ({ ...place, horizon }))))
        plotIds.add(response.plot);
    }
  }

  const products = await findProducts(sprays.flatMap((spray) => spray.items.map((item) => item.productId)));
  const factors = factorsFor([...products.values()], lawn.unitSystem);
  const answered = sprays.filter((spray) => responses.some((response) => response.spray === spray.id));
  const hours = await hoursAroundEach(
    lawnId,
    answered.map((spray) => spray.startedAt),
  );
  const factsOf = new Map(answered.map((spray, at) => [spray.id, factsOfSpray(spray, lawn, products, hours[at]!)]));
  const sprayed = places.map(({ spray, plotId }): SprayedPlot => {
    const facts = factsOf.get(spray.id);
    return {
      spray: spray.id,
      plot: plotId,
      day: dayOf(spray.startedAt),
      x: facts
        ? Object.fromEntries(
            factors.map((factor) => [
              factor.name,
              valueOf(factor.key, spray, facts, lastOn(plotId, spray, sprays), lawn.unitSystem),
            ]),
          )
        : {},
    };
  });
  const sprayOf = new Map(sprays.map((spray) => [spray.id, spray]));
  const nameOf = new Map(
    sprays.flatMap((spray) => spray.plots.map((covered) => [covered.plotId, covered.plot.name] as const)),
  );
  const rows = responseRows(sprayed, responses, wanted).map((row): FactorRow => {
    const spray = sprayOf.get(row.spray) as Spray;
    return {
      ...row,
      plotName: nameOf.get(row.plot) ?? '',
      sprayAt: spray.startedAt,
      products: spray.items.map((item) => item.productId),
    };
  });
  return {
    factors,
    rows,
    plots: [...new Set([...rows.map((row) => row.plot), ...plotIds])].map((id) => ({ id, name: nameOf.get(id) ?? '' })),
    products: [...products.values()].map(({ id, name }) => ({ id, name })).sort((a, b) => a.name.localeCompare(b.name)),
    sprayLimit: all.length > MOST_SPRAYS ? MOST_SPRAYS : null,
    pending: finder.pending.size,
  };
}

/** Horizons are whole days after the spray, as a person counts them. */
const dayOf = (at: Date): number => Math.round(at.getTime() / DAY_MS);

type Horizon = (typeof RESPONSE_HORIZONS)[number];
type Photographed = { readonly id: string; readonly takenAt: Date; readonly viewpointId: string | null };

/** Where the first photo from an instant on stands in a list, oldest first. */
function firstFrom(photos: readonly Photographed[], at: Date): number {
  let [low, high] = [0, photos.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (photos[middle]!.takenAt < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Finds the photo a response is read from: of those within tolerance the nearest to the day (the earlier of two) that
 * can be compared.
 */
class ResponseFinder {
  /** Photos asked about that are being worked out. */
  readonly pending = new Set<string>();
  /** Both oldest first. */
  readonly #ofPlot = new Map<string, Photographed[]>();
  readonly #fromViewpoint = new Map<string, Photographed[]>();
  readonly #changes = new Map<string, PlotChange>();
  readonly #known = new Set<string>();
  readonly #ask: AskChanges;

  constructor(photos: readonly (Photographed & { readonly plotIds: readonly string[] })[], ask: AskChanges) {
    this.#ask = ask;
    for (const photo of photos) {
      for (const plotId of photo.plotIds) {
        for (const [map, key] of [
          [this.#ofPlot, plotId],
          [this.#fromViewpoint, `${plotId} ${photo.viewpointId ?? ''}`],
        ] as const) {
          const own = map.get(key);
          if (own) own.push(photo);
          else map.set(key, [photo]);
        }
      }
    }
  }

  /** At most one response for each spray, plot and horizon. */
  async find(
    wanted: readonly { readonly spray: Spray; readonly plotId: string; readonly horizon: Horizon }[],
  ): Promise<ResponseReading[]> {
    const found: ResponseReading[] = [];
    let open = wanted.map((one) => ({ ...one, after: this.#candidates(one) }));
    while (open.length > 0) {
      const missing = new Set<string>();
      const still: typeof open = [];
      for (const one of open) {
        const answer = this.#answer(one);
        if (answer === null) continue;
        if ('response' in answer) found.push(answer);
        else {
          answer.missing.forEach((id) => missing.add(id));
          still.push(one);
        }
      }
      open = still;
      if (missing.size > 0) await this.#lookUp([...missing]);
    }
    return found;
  }

  #candidates({ spray, plotId, horizon }: { spray: Spray; plotId: string; horizon: Horizon }): Photographed[] {
    const day = dayOf(spray.startedAt);
    const off = (photo: Photographed) => Math.abs(dayOf(photo.takenAt) - day - horizon.day);
    const own = this.#ofPlot.get(plotId) ?? [];
    return own
      .slice(
        firstFrom(own, spray.startedAt),
        firstFrom(own, new Date(spray.startedAt.getTime() + (LAST_DAY + 2) * DAY_MS)),
      )
      .filter(
        (photo) =>
          photo.takenAt > spray.startedAt &&
          photo.takenAt.getTime() - spray.startedAt.getTime() <= (LAST_DAY + 1) * DAY_MS &&
          off(photo) <= horizon.toleranceDays,
      )
      .sort((a, b) => off(a) - off(b) || dayOf(a.takenAt) - dayOf(b.takenAt));
  }

  /** The response, the photos that must be known first, or null where no photo gives one. */
  #answer({
    spray,
    plotId,
    after,
  }: {
    spray: Spray;
    plotId: string;
    after: readonly Photographed[];
  }): ResponseReading | { missing: string[] } | null {
    for (const photo of after) {
      const same = this.#fromViewpoint.get(`${plotId} ${photo.viewpointId ?? ''}`) ?? [];
      const last = firstFrom(same, spray.startedAt) - 1;
      if (!this.#known.has(photo.id)) return { missing: [photo.id, ...(last >= 0 ? [same[last]!.id] : [])] };
      const change = this.#changes.get(`${photo.id} ${plotId}`);
      if (!change) continue;
      for (let at = last; at >= 0; at--) {
        const one = same[at]!;
        if (!this.#known.has(one.id)) return { missing: [one.id] };
        const before = this.#changes.get(`${one.id} ${plotId}`);
        if (!before) continue;
        const response = changeBetween(before, change);
        if (response !== null)
          return { spray: spray.id, plot: plotId, day: dayOf(photo.takenAt), photo: photo.id, response };
        break;
      }
    }
    return null;
  }

  async #lookUp(ids: readonly string[]): Promise<void> {
    const { changes, pending } = await this.#ask(ids);
    for (const id of ids) this.#known.add(id);
    for (const id of pending) this.pending.add(id);
    for (const change of changes) this.#changes.set(`${change.photoId} ${change.plotId}`, change);
  }
}

/**
 * What one spray changed: the change at a later photo less that at the last one before it, both by the one definition
 * and against the same check.
 */
function changeBetween(before: PlotChange, after: PlotChange): number | null {
  if (!after.headline || before.checkPlotId !== after.checkPlotId) return null;
  if (after.baselinePhotoId === before.photoId) return after.headline.value;
  return before.headline && before.baselinePhotoId === after.baselinePhotoId
    ? after.headline.value - before.headline.value
    : null;
}

function lastOn(plotId: string, spray: Spray, sprays: readonly Spray[]): Date | null {
  return (
    sprays.find(
      (other) => other.startedAt < spray.startedAt && other.plots.some((covered) => covered.plotId === plotId),
    )?.startedAt ?? null
  );
}

function factorsFor(products: readonly { id: string; name: string; form: string }[], system: UnitSystem): Factor[] {
  const metric = system === 'metric';
  return [
    ...NUTRIENTS.map((element) => ({
      key: element,
      name: `${element}, ${metric ? 'kg/ha' : unitLabel('lb/1000ft2')}`,
    })),
    ...products.map((product) => ({
      key: `rate-${product.id}`,
      name: `${product.name}, ${rateUnit(product.form, system).label}`,
    })),
    { key: 'interval', name: 'days since the last spray' },
    { key: 'carrier', name: `carrier volume, ${unitLabel(metric ? 'L/100m2' : 'us-gal/1000ft2')}` },
    { key: 'temperature', name: `air temperature, ${unitLabel(metric ? 'degC' : 'degF')}` },
    { key: 'vpd', name: `vapour pressure deficit, ${metric ? 'kPa' : 'inHg'}` },
    { key: 'drying', name: 'drying time, min (estimate)' },
  ];
}

function rateUnit(
  form: string,
  system: UnitSystem,
): { unit: 'L/100m2' | 'us-fl-oz/1000ft2' | 'kg/ha' | 'lb/1000ft2'; label: string } {
  const unit =
    form === 'liquid'
      ? system === 'metric'
        ? 'L/100m2'
        : 'us-fl-oz/1000ft2'
      : system === 'metric'
        ? 'kg/ha'
        : 'lb/1000ft2';
  return { unit, label: unitLabel(unit) };
}

function valueOf(
  key: string,
  spray: Spray,
  facts: ReturnType<typeof factsOfSpray>,
  last: Date | null,
  system: UnitSystem,
): number | null {
  const metric = system === 'metric';
  if (key === 'interval') return last ? (spray.startedAt.getTime() - last.getTime()) / DAY_MS : null;
  if (key === 'carrier')
    return facts.carrierLPerHa === null
      ? null
      : fromLPerHa(facts.carrierLPerHa, metric ? 'L/100m2' : 'us-gal/1000ft2').value;
  if (key === 'temperature')
    return facts.airTempC === null ? null : fromC(facts.airTempC, metric ? 'degC' : 'degF').value;
  if (key === 'vpd') return facts.vpdKPa === null || metric ? facts.vpdKPa : fromKPa(facts.vpdKPa, 'inHg').value;
  if (key === 'drying') return facts.dryingMinutes;
  if (key.startsWith('rate-')) {
    const items = spray.items.filter((item) => `rate-${item.productId}` === key);
    if (items.length === 0) return 0;
    const { unit } = rateUnit(items[0]?.product.form ?? 'dry', system);
    const liquid = unit === 'L/100m2' || unit === 'us-fl-oz/1000ft2';
    const sum = items.reduce<number | null>((total, item) => {
      const rate = liquid ? item.rateLPerHa : item.rateKgPerHa;
      return total === null || rate === null ? null : total + rate;
    }, 0);
    return sum === null
      ? null
      : unit === 'L/100m2' || unit === 'us-fl-oz/1000ft2'
        ? fromLPerHa(sum, unit).value
        : fromKgPerHa(sum, unit).value;
  }
  const element = NUTRIENTS.find((one) => one === key);
  return element ? fromKgPerHa(facts.nutrientsKgPerHa[element], metric ? 'kg/ha' : 'lb/1000ft2').value : null;
}

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
