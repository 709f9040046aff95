import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { momentText } from '@/lib/units/dates';
import { listPlans } from '@/lib/diary/sprays';
import { showTyped } from '@/lib/units/display';
import { Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Plan a spray' };

export default async function PlansPage() {
  const lawn = await currentLawn();
  const plans = lawn ? await listPlans(lawn.id) : [];
  return (
    <>
      {lawn && <Rights lawnId={lawn.id} quiet />}
      <div className="row row-end">
        <h1>Plan a spray</h1>
        <div className="row">
          <Link className="button button-main" href="/plan/new">
            New plan
          </Link>
          <Link className="button" href="/plan/calibrate">
            Calibrate a sprayer
          </Link>
          <form action="/api/sprays.csv" method="get">
            <button type="submit" className="button-plain">
              Spray records (CSV)
            </button>
          </form>
          <form action="/api/events.csv" method="get">
            <button type="submit" className="button-plain">
              Other events (CSV)
            </button>
          </form>
        </div>
      </div>
      {plans.length === 0 || !lawn ? (
        <div className="teach">
          <h2>What goes into the tank, and may it?</h2>
          <p>
            Pick plots, sprayer and products. The plan gives the amounts for each tank in measures you have, the acid
            for your water, the pH of the mix, and holds it all against the labels and against what those plots have had
            this season. Print it as a tank card; one press afterwards makes it a spray in the diary.
          </p>
          <Link className="button" href="/plan/new">
            Make the first plan
          </Link>
        </div>
      ) : (
        <ul className="cards">
          {plans.map((plan) => (
            <li key={plan.id} className="sheet">
              <h2>
                <Link href={`/plan/${plan.id}`}>{momentText(plan.startedAt, lawn)}</Link>
              </h2>
              <p>
                {plan.plots.map((covered) => covered.plot.name).join(', ')}:{' '}
                {plan.items
                  .map(
                    (item) =>
                      `${item.product.name} ${showTyped({ value: item.rateEnteredValue, unit: item.rateEnteredUnit }, lawn.unitSystem).text}`,
                  )
                  .join(' + ')}
              </p>
              <Link className="button" href={`/plan/${plan.id}/card`}>
                Tank card
              </Link>
            </li>
          ))}
        </ul>
      )}
    </>
  );
}
