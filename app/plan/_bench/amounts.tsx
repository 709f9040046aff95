import { TableHold } from '@/app/_ui/table-hold';
import { measuredOut } from '@/lib/plan/measure-out';
import type { SprayPlan } from '@/lib/plan/spray-plan';
import type { ProductAmount } from '@/lib/spray/product-rate';
import { showArea, showVolume, type UnitSystem } from '@/lib/units/display';

/** The loads worth a column: full ones once, and the last when it is smaller. */
export function distinctLoads(plan: SprayPlan): { title: string; recipe: SprayPlan['sheet']['recipes'][number] }[] {
  const { recipes, tanks } = plan.sheet;
  const first = recipes[0];
  const last = recipes.at(-1);
  if (!first || !last) return [];
  const whole = tanks.lastPartial === null ? recipes.length : recipes.length - 1;
  const partial =
    tanks.lastPartial === null ? [] : [{ title: whole === 0 ? 'The one tank' : 'Last tank', recipe: last }];
  const wholeTitle =
    tanks.fullLoads > 0
      ? whole === 1
        ? 'Full tank'
        : `Each of ${whole} full tanks`
      : whole === 1
        ? 'The one tank'
        : `Each of ${whole} tanks`;
  return [...(whole > 0 ? [{ title: wholeTitle, recipe: first }] : []), ...partial];
}

/** One product's amount: what to measure, the exact figure, and advice when it is too little for the tool. */
function AmountCell({
  amount,
  form,
  system,
}: {
  amount: ProductAmount | undefined;
  form: 'liquid' | 'dry';
  system: UnitSystem;
}) {
  if (!amount) return <>–</>;
  const out = measuredOut(amount, form, system);
  return (
    <>
      <strong>{out.text}</strong>
      <div className="soft">
        {out.exact}
        {out.other && ` · ${out.other}`}
      </div>
      {out.advice && <div className="soft advice">{out.advice}</div>}
    </>
  );
}

/** What goes into each tank, and in all. */
export function AmountsTable({ plan, system }: { plan: SprayPlan; system: UnitSystem }) {
  const loads = distinctLoads(plan);
  const { tanks, totals } = plan.sheet;
  return (
    <TableHold label="Amounts">
      <table>
        <caption className="visually-hidden">Amounts for each tank</caption>
        <thead>
          <tr>
            <th scope="col">Product</th>
            {loads.map((load) => (
              <th key={load.title} scope="col" className="number">
                {load.title}
              </th>
            ))}
            {plan.sheet.recipes.length > 1 && (
              <th scope="col" className="number">
                In all
              </th>
            )}
          </tr>
        </thead>
        <tbody>
          {plan.items.map((item, place) => (
            <tr key={item.productId}>
              <th scope="row">{item.name}</th>
              {loads.map((load) => (
                <td key={load.title} className="number">
                  <AmountCell amount={load.recipe.amounts[place]} form={item.form} system={system} />
                </td>
              ))}
              {plan.sheet.recipes.length > 1 && (
                <td className="number">
                  <AmountCell amount={totals[place]} form={item.form} system={system} />
                </td>
              )}
            </tr>
          ))}
          <tr>
            <th scope="row">Water, about</th>
            {loads.map((load) => (
              <td key={load.title} className="number">
                {showVolume(load.recipe.waterL, system).text}
              </td>
            ))}
            {plan.sheet.recipes.length > 1 && (
              <td className="number">
                {
                  showVolume(
                    plan.sheet.recipes.reduce((sum, recipe) => sum + recipe.waterL, 0),
                    system,
                  ).text
                }
              </td>
            )}
          </tr>
          <tr>
            <th scope="row">Fill to the mark</th>
            {loads.map((load) => (
              <td key={load.title} className="number">
                <strong>{showVolume(load.recipe.load.volumeL, system).text}</strong>
                <div className="soft">for {showArea(load.recipe.load.areaM2, system).text}</div>
              </td>
            ))}
            {plan.sheet.recipes.length > 1 && (
              <td className="number">
                <strong>{showVolume(tanks.totalMixL + tanks.reserveL, system).text}</strong>
                <div className="soft">for {showArea(plan.areaM2, system).text}</div>
              </td>
            )}
          </tr>
        </tbody>
      </table>
    </TableHold>
  );
}
