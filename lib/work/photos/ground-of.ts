import 'server-only';
import { listPlotGrounds } from '@/lib/diary/plots';
import { groundReached } from '@/lib/trial/plot-ground';

/** The plots that share ground with these, themselves included, and those of which nobody said where they lie. */
export async function sharingGround(
  lawnId: string,
  plotIds: readonly string[],
): Promise<{ readonly known: readonly string[]; readonly unknown: readonly string[] }> {
  return groundReached(plotIds, await listPlotGrounds(lawnId));
}
