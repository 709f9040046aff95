import type { SprayPlan } from '@/lib/plan/spray-plan';
import { showLength, showSpeed, showVolume, significant, type UnitSystem } from '@/lib/units/display';

export function walkTimeText(seconds: number): string {
  const minutes = Math.max(1, Math.round(seconds / 60));
  return minutes < 90 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

/** Passes over each plot, pace and time. */
export function WalkLines({ plan, system }: { plan: SprayPlan; system: UnitSystem }) {
  const { walk } = plan;
  if (walk === null)
    return <p className="soft">Passes and time need the sprayer’s swath and walking pace: enter them under Lawn.</p>;
  return (
    <>
      <ul>
        {walk.plots.map((plot) => (
          <li key={plot.name}>
            {plot.name}:{' '}
            {plot.passes === null
              ? `about ${showLength(plot.distanceM, system, 2).text} of way (its shape isn’t known)`
              : `${plot.passes} ${plot.passes === 1 ? 'pass' : `passes, ${showLength(plot.spacingM ?? 0, system, 2).text} apart`}, ${showLength(plot.distanceM, system, 2).text}`}
            {plot.passes !== null &&
              (plot.surplusShare ?? 0) >= 0.005 &&
              `; whole passes cover ${significant((plot.surplusShare ?? 0) * 100, 2)} % more than the plot, so at ${showSpeed((walk.singleSwathMPerS ?? walk.speedMPerS) * (1 + (plot.surplusShare ?? 0)), system, 'km/h').text}`}
          </li>
        ))}
      </ul>
      <p>
        {walkTimeText(walk.seconds)} of spraying at {showSpeed(walk.speedMPerS, system, 'km/h').text}, filling not
        counted.
        {walk.paceChanged && (
          <strong>
            {' '}
            This is not the catch test’s pace: the carrier volume asks for it. Try it with plain water first.
          </strong>
        )}
      </p>
      {(walk.surplusShare ?? 0) >= 0.005 && walk.singleSwathMPerS !== undefined && (
        <p>
          Whole passes put down {significant((walk.surplusShare ?? 0) * 100, 2)} % more than is mixed: at{' '}
          {showSpeed(walk.singleSwathMPerS, system, 'km/h').text} the mix would run out{' '}
          {showVolume(plan.sheet.tanks.totalMixL * (walk.surplusShare ?? 0), system).text} short. So walk each plot
          faster by its own share, and the ground gets what was planned; or mix that much more (“Extra mix”) where the
          label has room for it.
        </p>
      )}
    </>
  );
}
