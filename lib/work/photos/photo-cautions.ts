import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { keptCautions, type KeptCaution } from '@/lib/diary/photos';
import { photoFacts, type PhotoFacts } from '@/lib/diary/photo-facts';
import type { StateOutline } from '@/lib/diary/worked-out';
import { circumstanceCautions, type PhotoCircumstances } from '@/lib/photo/cautions';
import { sunPosition } from '@/lib/weather/sun-position';
import { momentsOfGrass, type MomentOfGrass } from '../diary/moment-events';
import { OUTLINES_OVERLAP, overlapCautions } from './outline-overlaps';
import { standOf, type Stand } from './stand-of';

/** Where the sun stood when a photo was taken; null where the lawn's place isn't known. */
export function sunOver(
  { latitudeDeg, longitudeDeg }: Pick<Lawn, 'latitudeDeg' | 'longitudeDeg'>,
  at: Date,
): { elevationDeg: number; azimuthDeg: number } | null {
  if (latitudeDeg === null || longitudeDeg === null) return null;
  const { altitudeDeg, azimuthDeg } = sunPosition(at.getTime(), latitudeDeg, longitudeDeg);
  return { elevationDeg: altitudeDeg, azimuthDeg };
}

/**
 * Everything that makes some photos of a lawn doubtful, in words: what their readings and comparisons found (kept with
 * them), and what hangs on the moment (sun, rain shortly before, mowing, another camera than the baseline's) or on the
 * outlines, worked out now.
 * @param known how the photos stand, where the caller has asked already
 */
export async function cautionsOf(
  lawn: Lawn,
  photoIds: readonly string[],
  known?: ReadonlyMap<string, Stand>,
): Promise<Map<string, KeptCaution[]>> {
  const stands = known ?? (await standOf(lawn.id, photoIds));
  const baselineOf = (id: string) => stands.get(id)?.pairing.groups[0]?.baseline.id ?? null;
  const facts = new Map(
    (await photoFacts([...new Set(photoIds.flatMap((id) => [id, baselineOf(id) ?? id]))])).map((photo) => [
      photo.id,
      photo,
    ]),
  );
  const grass = new Map<string, MomentOfGrass>();
  const shown = photoIds.filter((id) => facts.has(id) && stands.has(id));
  const moments = await momentsOfGrass(
    lawn.id,
    shown.map((id) => ({
      plotIds: stands
        .get(id)!
        .state.outlines.filter((outline) => !outline.plotBinned)
        .map((outline) => outline.plotId),
      takenAt: facts.get(id)!.takenAt,
      baselineAt: facts.get(baselineOf(id) ?? '')?.takenAt ?? null,
    })),
  );
  shown.forEach((id, i) => grass.set(id, moments[i]!));
  return new Map(
    photoIds.flatMap((id): [string, KeptCaution[]][] => {
      const photo = facts.get(id);
      const stand = stands.get(id);
      if (!photo || !stand) return [];
      const baseline = facts.get(baselineOf(id) ?? '') ?? null;
      const moment = circumstanceCautions(
        circumstances(lawn, photo, grass.get(id) ?? null),
        baseline ? circumstances(lawn, baseline, null) : null,
      );
      const kept = keptCautions({
        cautions: stand.holds.readings ? photo.cautions : [],
        comparisonCautions: stand.holds.comparison ? photo.comparisonCautions : [],
      });
      const now = [...moment, ...overlapCautions(stand.state.outlines)];
      const codes = new Set<string>([...now.map((caution) => caution.code), OUTLINES_OVERLAP]);
      const named = kept.map((caution) => ({
        ...caution,
        sentence: withNames(caution.sentence, stand.state.outlines),
      }));
      return [[id, [...named.filter((caution) => !codes.has(caution.code)), ...now]]];
    }),
  );
}

/** A comparison knows a plot by its key alone; a reader by the name it has now. */
function withNames(sentence: string, outlines: readonly StateOutline[]): string {
  return outlines.reduce((text, { plotId, plotName }) => text.replaceAll(`Plot ${plotId}:`, `${plotName}:`), sentence);
}

function circumstances(lawn: Lawn, photo: PhotoFacts, grass: MomentOfGrass | null): PhotoCircumstances {
  const sun = sunOver(lawn, photo.takenAt);
  return {
    sunElevationDeg: sun?.elevationDeg ?? null,
    sunAzimuthDeg: sun?.azimuthDeg ?? null,
    camera: [photo.cameraMake, photo.cameraModel].filter(Boolean).join(' ') || null,
    hoursSinceWater: grass?.hoursSinceWater ?? null,
    mownSinceBaseline: photo.mownSinceBaseline || (grass?.mownSince ?? null) !== null,
  };
}
