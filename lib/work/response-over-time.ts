import 'server-only';
import { changesOfPhotos } from '@/lib/diary/changes';
import { readingsOfLawn } from '@/lib/diary/readings';
import { listSprays } from '@/lib/diary/sprays';
import { isDoubt } from '@/lib/photo/cautions';
import { Z95 } from '@/lib/photo/interval';
import { DEFAULT_PARAMETERS } from '@/lib/photo/measure';

export interface ResponsePoint {
  at: Date;
  photoId: string;
  fileName: string;
  value: number;
  low95: number | null;
  high95: number | null;
  doubt: string | undefined;
}

export interface PlotResponse {
  plotId: string;
  plotName: string;
  isCheck: boolean;
  /** The index itself: moves with the light as well as with the turf. */
  index: ResponsePoint[];
  /** Minus the check in the same photo, less that difference in the baseline photo: what the treatment changed. */
  change: ResponsePoint[];
}

export interface LawnResponse {
  plots: PlotResponse[];
  sprays: { at: Date; id: string; plots: string[] }[];
  /** The photos that count as before: one per viewpoint. */
  baselines: { photoId: string; at: Date }[];
}

/** Half the width of a reading's own interval, as a standard error; the method's floor where it has none. */
function standardError(reading: { dgciLow95: number | null; dgciHigh95: number | null }): number {
  if (reading.dgciLow95 === null || reading.dgciHigh95 === null) return DEFAULT_PARAMETERS.photoSd;
  return (reading.dgciHigh95 - reading.dgciLow95) / (2 * Z95);
}

/**
 * Index and change-against-check by date for every plot of a lawn. The baseline of a viewpoint is its last photo before
 * its first spray in the span, else its first photo. Four readings make a change; their errors add in quadrature.
 */
export async function responseOverTime(lawnId: string, from: Date, to: Date): Promise<LawnResponse> {
  const [readings, sprays] = await Promise.all([readingsOfLawn(lawnId, from, to), listSprays(lawnId, { after: from, before: new Date(to.getTime() + 1), limit: 1000 })]);
  const done = sprays.filter((spray) => spray.state === 'done');
  const firstSpray = done.length > 0 ? Math.min(...done.map((spray) => spray.startedAt.getTime())) : Number.POSITIVE_INFINITY;

  const byPhoto = new Map<string, typeof readings>();
  for (const reading of readings) byPhoto.set(reading.photoId, [...(byPhoto.get(reading.photoId) ?? []), reading]);
  const baselineOf = new Map<string, string>(); // viewpoint -> photo
  for (const [photoId, own] of byPhoto) {
    const first = own[0];
    if (!first || !own.some((reading) => reading.plot.isCheck && reading.dgci !== null)) continue;
    const viewpoint = first.photo.viewpointId ?? 'none';
    if (!baselineOf.has(viewpoint) || first.takenAt.getTime() <= firstSpray) baselineOf.set(viewpoint, photoId);
  }

  const compared = new Map((await changesOfPhotos([...byPhoto.keys()])).map((change) => [`${change.photoId} ${change.plotId}`, change]));

  const plots = new Map<string, PlotResponse>();
  for (const reading of readings) {
    if (reading.dgci === null) continue;
    const plot = plots.get(reading.plotId) ?? { plotId: reading.plotId, plotName: reading.plot.name, isCheck: reading.plot.isCheck, index: [], change: [] };
    plots.set(reading.plotId, plot);
    const cautions = ((reading.photo.cautions as unknown as { code: string; sentence: string }[] | null) ?? []).filter((caution) => isDoubt(caution.code));
    const doubt = cautions.length > 0 ? cautions.map((caution) => caution.sentence).join(' ') : undefined;
    const common = { at: reading.takenAt, photoId: reading.photoId, fileName: reading.photo.fileName, doubt };
    plot.index.push({ ...common, value: reading.dgci, low95: reading.dgciLow95, high95: reading.dgciHigh95 });
    if (reading.plot.isCheck) continue;
    // Where the pair was compared pixel by pixel (lined up, light evened out, shade left out), that counts.
    const pair = compared.get(`${reading.photoId} ${reading.plotId}`);
    if (pair && pair.difference !== null) {
      plot.change.push({ ...common, value: pair.difference, low95: pair.low95, high95: pair.high95 });
      continue;
    }
    if (pair?.refusedReason) continue;
    const baselineId = baselineOf.get(reading.photo.viewpointId ?? 'none');
    const before = baselineId ? byPhoto.get(baselineId) : undefined;
    const four = [
      reading,
      byPhoto.get(reading.photoId)?.find((other) => other.plot.isCheck),
      before?.find((other) => other.plotId === reading.plotId),
      before?.find((other) => other.plot.isCheck),
    ];
    const [own, check, ownBefore, checkBefore] = four.map((entry) => entry?.dgci ?? null);
    if (own == null || check == null || ownBefore == null || checkBefore == null) continue;
    const value = own - check - (ownBefore - checkBefore);
    const isBaseline = reading.photoId === baselineId;
    const se = isBaseline ? 0 : Math.hypot(...four.map((entry) => (entry ? standardError(entry) : 0)));
    plot.change.push({ ...common, value, low95: isBaseline ? null : value - Z95 * se, high95: isBaseline ? null : value + Z95 * se });
  }
  return {
    plots: [...plots.values()].sort((a, b) => Number(b.isCheck) - Number(a.isCheck) || a.plotName.localeCompare(b.plotName)),
    sprays: done.map((spray) => ({ at: spray.startedAt, id: spray.id, plots: spray.plots.map((covered) => covered.plot.name) })),
    baselines: [...baselineOf.values()].flatMap((photoId) => {
      const at = byPhoto.get(photoId)?.[0]?.takenAt;
      return at ? [{ photoId, at }] : [];
    }),
  };
}
