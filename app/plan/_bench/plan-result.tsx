import { How } from '@/app/_ui/how';
import { TableHold } from '@/app/_ui/table-hold';
import type { SprayPlan } from '@/lib/plan/spray-plan';
import { CAUTIONS } from '@/lib/spray/cautions';
import {
  showConcentration,
  showDryRate,
  showLiquidRate,
  showVolume,
  significant,
  type UnitSystem,
} from '@/lib/units/display';
import { AmountsTable } from './amounts';
import { CheckList } from './checks';
import { NutrientTable, nutrientLine } from './nutrients';
import { WalkLines } from './walk';

const money = (value: number, currency: string) => `${value.toFixed(2)} ${currency}`.trim();

function StrengthTable({ plan, system }: { plan: SprayPlan; system: UnitSystem }) {
  return (
    <TableHold label="Strength">
      <table>
        <caption className="visually-hidden">Rate, strength and cost of each product</caption>
        <thead>
          <tr>
            <th scope="col">Product</th>
            <th scope="col" className="number">
              On the ground
            </th>
            <th scope="col" className="number">
              In the mix
            </th>
            <th scope="col">Brings</th>
            <th scope="col" className="number">
              Cost
            </th>
          </tr>
        </thead>
        <tbody>
          {plan.items.map((item, place) => {
            const strength = plan.sheet.strengths[place];
            const liquid = item.form === 'liquid' && item.dose.volumeLPerHa !== null;
            return (
              <tr key={item.productId}>
                <th scope="row">{item.name}</th>
                <td className="number">
                  {liquid
                    ? showLiquidRate(item.dose.volumeLPerHa ?? 0, system).text
                    : item.dose.massKgPerHa === null
                      ? '–'
                      : showDryRate(item.dose.massKgPerHa, system).text}
                </td>
                <td className="number">
                  {strength ? showConcentration(strength.gPerL * 1000, system).text : '–'}
                  <div className="soft">
                    {strength && `${significant(strength.percentWeightByVolume)} % by weight`}
                    {item.percentByVolume !== null && ` · ${significant(item.percentByVolume)} % by volume`}
                  </div>
                </td>
                <td>
                  {item.nutrientsKgPerHa === null ? (
                    <span className="soft">needs a density</span>
                  ) : (
                    nutrientLine(item.nutrientsKgPerHa, system)
                  )}
                </td>
                <td className="number">
                  {item.cost === null ? (
                    <span className="soft">{item.costMissing}</span>
                  ) : (
                    money(item.cost, item.currency ?? '')
                  )}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </TableHold>
  );
}

/**
 * A plan worked out: amounts, order, nutrients, strength, cost, way and checks. Used while planning and for a plan that
 * is kept.
 */
export function PlanResult({
  plan,
  system,
  children,
}: {
  plan: SprayPlan;
  system: UnitSystem;
  children?: React.ReactNode;
}) {
  const { tanks, order, salt } = plan.sheet;
  return (
    <>
      <section className="sheet" aria-labelledby="amounts">
        <h2 id="amounts">In the tank</h2>
        <p>
          {showVolume(tanks.totalMixL, system).text} of mix
          {tanks.reserveL > 0 && ` and ${showVolume(tanks.reserveL, system).text} extra`}: {plan.sheet.recipes.length}{' '}
          {plan.sheet.recipes.length === 1 ? 'tank' : 'tanks'}. <How to="tanks" />
        </p>
        <AmountsTable plan={plan} system={system} />
      </section>
      <section className="sheet" aria-labelledby="checks">
        <h2 id="checks">Before spraying</h2>
        <CheckList checks={plan.checks} system={system} />
        <p className="soft">
          Where the limits come from: <How to="limits" />
        </p>
      </section>
      {children}
      <div className="split split-even">
        <section className="sheet" aria-labelledby="order">
          <h2 id="order">Mixing order</h2>
          <ol>
            {order.map((step) => (
              <li key={step.instruction}>
                {step.instruction}
                <div className="soft">{step.reason}</div>
              </li>
            ))}
          </ol>
          <p className="soft">
            Common practice of spray guides; the order on a label wins. A jar test comes before any new mix.
          </p>
        </section>
        <section className="sheet" aria-labelledby="way">
          <h2 id="way">Passes, time and cost</h2>
          <WalkLines plan={plan} system={system} />
          <p>
            {plan.costs.length > 0 ? (
              <>Products cost {plan.costs.map((cost) => money(cost.total, cost.currency)).join(' + ')}</>
            ) : (
              'No cost: no product has a price on the shelf'
            )}
            {plan.costs.length > 0 && !plan.costComplete ? ', not counting those without a price.' : '.'}
          </p>
        </section>
      </div>
      <section className="sheet" aria-labelledby="nutrients">
        <h2 id="nutrients">Nutrients</h2>
        <NutrientTable plan={plan} system={system} />
        <p className="soft">
          As the element, per area. <How to="nutrients" />
        </p>
        <h3>Strength</h3>
        <StrengthTable plan={plan} system={system} />
        <p className="soft">
          {showConcentration(salt.saltGPerL * 1000, system).text} of fertiliser and acid are dissolved in the mix; on a
          leaf they draw water like {showConcentration(salt.sodiumNitrateGPerL * 1000, system).text} of sodium nitrate
          (salt index, {salt.edition}
          {salt.leftOut.length > 0 && `; no index for ${salt.leftOut.join(', ')}`}). <How to="salt" />
        </p>
      </section>
      <CautionBox cautions={plan.items.flatMap((item) => item.cautions.map((caution) => `${item.name}: ${caution}`))} />
    </>
  );
}

/** The standing cautions, and what the products' own labels say. */
function CautionBox({ cautions }: { cautions: readonly string[] }) {
  return (
    <section className="sheet" aria-labelledby="cautions">
      <h2 id="cautions">Cautions</h2>
      <ul>
        {CAUTIONS.map((caution) => (
          <li key={caution}>{caution}</li>
        ))}
        {cautions.map((caution) => (
          <li key={caution}>{caution}</li>
        ))}
      </ul>
    </section>
  );
}
