import { createBareProduct } from '../../diary/bulk-rows';
import { createLawn } from '../../diary/lawns';
import { createPlot } from '../../diary/plots';
import type { VisitedLawn } from './fault-visitors';

/** A bare lawn of two plots, the first of them the check, and a product: what visitors write on. */
export async function layVisitedLawn(name: string): Promise<VisitedLawn> {
  const lawn = await createLawn({
    name,
    timeZone: 'UTC',
    unitSystem: 'metric',
    place: '',
    grass: '',
    waterChlorinated: false,
    note: '',
  });
  const plot = (name: string, isCheck: boolean) =>
    createPlot(lawn.id, {
      name,
      isCheck,
      polygonM: null,
      areaM2: 50,
      note: '',
    });
  const [check, treated] = [await plot('A', true), await plot('B', false)];
  return { lawnId: lawn.id, plotIds: [check.id, treated.id], productId: await createBareProduct('Salt') };
}
