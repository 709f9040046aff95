import 'server-only';
import type { Lawn } from '@/lib/diary/lawns';
import { lastSprayBefore } from '@/lib/diary/sprays';
import { sunPosition } from '@/lib/weather/sun-position';

/** What hangs on when a photo was taken: the spray it follows and where the sun stood (null where the lawn's place isn't known). */
export async function photoMoment(
  lawn: Lawn,
  takenAt: Date,
): Promise<{ followsSprayId: string | null; sunElevationDeg: number | null; sunAzimuthDeg: number | null }> {
  const { latitudeDeg, longitudeDeg } = lawn;
  const spray = await lastSprayBefore(lawn.id, takenAt);
  const sun = latitudeDeg !== null && longitudeDeg !== null ? sunPosition(takenAt.getTime(), latitudeDeg, longitudeDeg) : null;
  return { followsSprayId: spray?.id ?? null, sunElevationDeg: sun?.altitudeDeg ?? null, sunAzimuthDeg: sun?.azimuthDeg ?? null };
}
