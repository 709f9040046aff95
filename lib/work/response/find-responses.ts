import 'server-only';
import { DAY_MS } from '@/lib/units/time';
import type { Spray } from '@/lib/diary/sprays';
import { RESPONSE_HORIZONS, type ResponseReading } from '@/lib/trial/response-table';
import type { AskChanges, PlotChange } from '../photos/changes';

export const LAST_DAY = Math.max(...RESPONSE_HORIZONS.map(({ day, toleranceDays }) => day + toleranceDays));

/** Horizons are whole days after the spray, as a person counts them. */
export const dayOf = (at: Date): number => Math.round(at.getTime() / DAY_MS);

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
export class ResponseFinder {
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
