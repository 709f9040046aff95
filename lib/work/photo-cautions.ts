import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { keptCautions, type Caution } from '@/lib/diary/photos';
import { photoFacts, wetHoursBetween, type PhotoFacts } from '@/lib/diary/photo-facts';
import { circumstanceCautions, type PhotoCircumstances } from '@/lib/photo/cautions';
import { sunPosition } from '@/lib/weather/sun-position';
import { standOf } from './worked-out';

const HOUR_MS = 3_600_000;

/** Where the sun stood when a photo was taken; null where the lawn's place isn't known. */
export function sunOver({ latitudeDeg, longitudeDeg }: Pick<Lawn, 'latitudeDeg' | 'longitudeDeg'>, at: Date): { elevationDeg: number; azimuthDeg: number } | null {
  if (latitudeDeg === null || longitudeDeg === null) return null;
  const { altitudeDeg, azimuthDeg } = sunPosition(at.getTime(), latitudeDeg, longitudeDeg);
  return { elevationDeg: altitudeDeg, azimuthDeg };
}

/**
 * Everything that makes some photos of a lawn doubtful, in words: what their readings and comparisons found (kept with them),
 * and what hangs on the moment (sun, rain shortly before, mowing, another camera than the baseline's), worked out now.
 */
export async function cautionsOf(lawn: Lawn, photoIds: readonly string[]): Promise<Map<string, Caution[]>> {
  const stands = await standOf(lawn.id, photoIds);
  const baselineOf = (id: string) => stands.get(id)?.pairing.groups[0]?.baseline.id ?? null;
  const facts = new Map((await photoFacts([...new Set(photoIds.flatMap((id) => [id, baselineOf(id) ?? id]))])).map((photo) => [photo.id, photo]));
  const moments = photoIds.flatMap((id) => facts.get(id)?.takenAt.getTime() ?? []);
  const wet = moments.length === 0 ? [] : await wetHoursBetween(lawn.id, new Date(Math.min(...moments) - 24 * HOUR_MS), new Date(Math.max(...moments)));
  return new Map(
    photoIds.flatMap((id): [string, Caution[]][] => {
      const photo = facts.get(id);
      const stand = stands.get(id);
      if (!photo || !stand) return [];
      const baseline = facts.get(baselineOf(id) ?? '') ?? null;
      const moment = circumstanceCautions(circumstances(lawn, photo, hoursSinceWater(photo, wet)), baseline ? circumstances(lawn, baseline, null) : null);
      const kept = keptCautions({ cautions: stand.holds.readings ? photo.cautions : [], comparisonCautions: stand.holds.comparison ? photo.comparisonCautions : [] });
      const codes = new Set(moment.map((caution) => caution.code as string));
      return [[id, [...kept.filter((caution) => !codes.has(caution.code)), ...moment]]];
    }),
  );
}

function hoursSinceWater(photo: PhotoFacts, wet: readonly Date[]): number | null {
  const taken = photo.takenAt.getTime();
  const last = wet.findLast((hour) => hour.getTime() < taken && hour.getTime() >= taken - 24 * HOUR_MS);
  return last ? Math.max(0, (taken - last.getTime()) / HOUR_MS - 1) : null;
}

function circumstances(lawn: Lawn, photo: PhotoFacts, sinceWater: number | null): PhotoCircumstances {
  const sun = sunOver(lawn, photo.takenAt);
  return {
    sunElevationDeg: sun?.elevationDeg ?? null,
    sunAzimuthDeg: sun?.azimuthDeg ?? null,
    camera: [photo.cameraMake, photo.cameraModel].filter(Boolean).join(' ') || null,
    hoursSinceWater: sinceWater,
    mownSinceBaseline: photo.mownSinceBaseline,
  };
}
