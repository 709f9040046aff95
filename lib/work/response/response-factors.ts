import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import { findLawn } from '@/lib/diary/lawns';
import { plotsPhotographed } from '@/lib/diary/photos';
import { findProducts } from '@/lib/diary/products';
import { listSprays, type Spray } from '@/lib/diary/sprays';
import { responseRows, RESPONSE_HORIZONS, type ResponseRow, type SprayedPlot } from '@/lib/trial/response-table';
import { askChangesOnce } from '../photos/changes';
import { factsOfSpray, hoursAroundEach } from '../sprays/spray-facts';
import { factorsFor, valueOf, lastOn, type Factor } from './factors';
import { LAST_DAY, ResponseFinder, dayOf } from './find-responses';

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
export const MOST_GROUPED = 80;

/** Plans among them don't count. */
const MOST_PLANS = 101;

/** Plots that are looked at together for a point at another time. */
const MOST_AT_ONCE = 20;

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
