import 'server-only';
import { USUAL_EDITION } from '@/lib/colour/chart-24';
import { createLawn, type Lawn } from '@/lib/diary/lawns';
import { createPlot } from '@/lib/diary/plots';
import { createSprayer } from '@/lib/diary/sprayers';
import type { FirstLawn } from '@/lib/forms/first-lawn-form';

/** Writes a new lawn with its plots and its sprayer, as far as they were given. */
export async function setUpLawn({ lawn: typed, plots, sprayer }: FirstLawn): Promise<Lawn> {
  const lawn = await createLawn({
    ...typed,
    grass: '',
    waterChlorinated: false,
    chartEdition: USUAL_EDITION,
    note: '',
  });
  for (const plot of plots) await createPlot(lawn.id, plot);
  if (sprayer) await createSprayer(lawn.id, sprayer);
  return lawn;
}
