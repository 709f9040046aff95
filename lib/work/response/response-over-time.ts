import 'server-only';
import { findLawn } from '@/lib/diary/lawns';
import { readingsOfLawn } from '@/lib/diary/readings';
import { listSprays } from '@/lib/diary/sprays';
import { listViewpoints } from '@/lib/diary/viewpoints';
import { isDoubt } from '@/lib/photo/cautions';
import { changesIn, type PlotChange } from '../photos/changes';
import { cautionsOf } from '../photos/photo-cautions';

export interface ResponsePoint {
  at: Date;
  photoId: string;
  fileName: string;
  value: number;
  low95: number | null;
  high95: number | null;
  doubt: string | undefined;
}

/** A change as charted: the definition's own words beside the point. */
export interface ChangePoint extends ResponsePoint {
  change: PlotChange;
}

/** One plot from one viewpoint: photos from two places are not one line. */
export interface PlotResponse {
  plotId: string;
  plotName: string;
  isCheck: boolean;
  /** Null where all photos come from one viewpoint, or from none. */
  viewpointName: string | null;
  /** The index itself: moves with the light as well as with the turf. */
  index: ResponsePoint[];
  /** After less before, less the same of the check: what the treatment changed. */
  change: ChangePoint[];
  /** Photos with the plot whose change can't be given, and why. */
  refused: PlotChange[];
}

export interface LawnResponse {
  plots: PlotResponse[];
  sprays: { at: Date; id: string; plots: string[] }[];
  /**
   * Whether any spray was done on the lawn up to the end of the span: before that, changes are since the first photo.
   */
  sprayed: boolean;
  /** How many photos of the span are being worked out. */
  pending: number;
}

/** Index and change against the check by date, for every plot of a lawn and every viewpoint. */
export async function responseOverTime(lawnId: string, from: Date, to: Date): Promise<LawnResponse> {
  const lawn = await findLawn(lawnId);
  if (!lawn) return { plots: [], sprays: [], sprayed: false, pending: 0 };
  const end = new Date(to.getTime() + 1);
  const [all, sprays, earlier, viewpoints] = await Promise.all([
    readingsOfLawn(lawnId, from, to),
    listSprays(lawnId, { after: from, before: end }),
    listSprays(lawnId, { before: end, limit: 50 }),
    listViewpoints(lawnId),
  ]);
  const done = sprays.filter((spray) => spray.state === 'done');
  const sprayed = earlier.some((spray) => spray.state === 'done');
  const photoIds = [...new Set(all.map((reading) => reading.photoId))];
  const { changes, pending, stands } = await changesIn(lawnId, photoIds);
  const cautions = await cautionsOf(lawn, photoIds, stands);
  const readings = all.filter((reading) => !pending.has(reading.photoId) && reading.dgci !== null);
  const changeOf = new Map(changes.map((change) => [`${change.photoId} ${change.plotId}`, change]));
  const nameOf = new Map(viewpoints.map((viewpoint) => [viewpoint.id, viewpoint.name]));
  const several = new Set(readings.map((reading) => reading.photo.viewpointId)).size > 1;

  const plots = new Map<string, PlotResponse>();
  for (const reading of readings) {
    const key = `${reading.plotId} ${reading.photo.viewpointId ?? ''}`;
    const viewpointName = several ? (nameOf.get(reading.photo.viewpointId ?? '') ?? 'no viewpoint') : null;
    const plot = plots.get(key) ?? {
      plotId: reading.plotId,
      plotName: reading.plot.name,
      isCheck: reading.plot.isCheck,
      viewpointName,
      index: [],
      change: [],
      refused: [],
    };
    plots.set(key, plot);
    const doubts = (cautions.get(reading.photoId) ?? []).filter((caution) => isDoubt(caution.code));
    const doubt = doubts.length > 0 ? doubts.map((caution) => caution.sentence).join(' ') : undefined;
    const common = { at: reading.takenAt, photoId: reading.photoId, fileName: reading.photo.fileName, doubt };
    plot.index.push({ ...common, value: reading.dgci as number, low95: reading.dgciLow95, high95: reading.dgciHigh95 });
    const change = changeOf.get(`${reading.photoId} ${reading.plotId}`);
    // Before the first spray only the baseline counts: it is where every line begins.
    if (!change || (sprayed && !change.isBaseline && !change.sinceSpray)) continue;
    if (change.headline) plot.change.push({ ...common, ...change.headline, change });
    else plot.refused.push(change);
  }
  return {
    plots: [...plots.values()].sort(
      (a, b) =>
        Number(b.isCheck) - Number(a.isCheck) ||
        a.plotName.localeCompare(b.plotName) ||
        (a.viewpointName ?? '').localeCompare(b.viewpointName ?? ''),
    ),
    sprays: done.map((spray) => ({
      at: spray.startedAt,
      id: spray.id,
      plots: spray.plots.map((covered) => covered.plot.name),
    })),
    sprayed,
    pending: pending.size,
  };
}
