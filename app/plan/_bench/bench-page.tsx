import { asCheck } from '@/app/_ui/change-text';
import { HOUR_MS } from '@/lib/units/time';
import { listPlots } from '@/lib/diary/plots';
import { listSprayers } from '@/lib/diary/sprayers';
import type { Lawn } from '@/lib/diary/lawns';
import type { Spray } from '@/lib/diary/sprays';
import type { PlanStart } from '@/lib/forms/queries/plan-query';
import { showArea } from '@/lib/units/display';
import { keptPlan } from '@/lib/work/sprays/keep-plan';
import { instantOfLocal, localOfInstant } from '@/lib/work/diary/lawn-time';
import { planFacts } from '@/lib/work/sprays/plan-facts';
import { weatherAround } from '@/lib/work/weather/plan-window';
import { usualPlots } from '@/lib/work/photos/usual-plots';
import { savePlan } from '../actions';
import { Bench } from './bench';
import { benchStart, benchUnits, itemsOf, sprayerStart, weatherStart, wishedStart, withOwnUnits } from './bench-start';

/**
 * The bench for a new plan (like an earlier spray, or as another page wishes, when one is given), or for one that is
 * kept.
 */
export async function BenchPage({
  lawn,
  plan,
  like,
  wish = null,
}: {
  lawn: Lawn;
  plan: Spray | null;
  like: Spray | null;
  wish?: PlanStart | null;
}) {
  const now = new Date();
  const start =
    plan?.startedAt ??
    (wish?.startedLocal ? instantOfLocal(wish.startedLocal, lawn.timeZone) : null) ??
    new Date(Math.ceil((now.getTime() + 1) / HOUR_MS) * HOUR_MS);
  const [plots, sprayers, usual, facts] = await Promise.all([
    listPlots(lawn.id),
    listSprayers(lawn.id),
    usualPlots(lawn.id),
    planFacts(
      lawn,
      plan?.id ?? 'new',
      start,
      now,
      plan?.items.map((item) => item.productId),
    ),
  ]);
  const system = lawn.unitSystem;
  const units = benchUnits(system);
  const fresh = {
    ...benchStart(lawn, sprayers, localOfInstant(start, lawn.timeZone), units),
    plotIds: usual,
    ...weatherStart(await weatherAround(lawn.id, start), system),
  };
  const asked = like
    ? { ...fresh, items: itemsOf(like, units, system), plotIds: like.plots.map((plot) => plot.plotId) }
    : wish
      ? wishedStart(wish, fresh, plots, units)
      : fresh;
  const kept = plan && keptPlan(plan)?.typed;
  const typed = kept ? withOwnUnits(kept, fresh, system) : asked;
  const draftKey = `draft:plan-${plan?.id ?? like?.id ?? (wish ? JSON.stringify(wish) : lawn.id)}`;
  return (
    <Bench
      action={savePlan.bind(null, lawn.id, plan?.id ?? null, draftKey)}
      draftKey={draftKey}
      start={typed}
      facts={facts}
      plots={plots.map((plot) => ({
        id: plot.id,
        label: `${plot.name} (${showArea(plot.areaM2, system).text})${asCheck(plot)}`,
      }))}
      sprayers={sprayers.map((sprayer) => sprayerStart(sprayer, system))}
      sprayerChoices={[
        ...sprayers.map((sprayer) => ({ value: sprayer.id, label: sprayer.name })),
        { value: '', label: 'Another' },
      ]}
      units={units}
      system={system}
      submit={plan ? 'Save the plan' : 'Keep this plan'}
      leave={plan ? `/plan/${plan.id}` : '/plan'}
    />
  );
}
