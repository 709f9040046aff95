import { TableHold } from '@/app/_ui/table-hold';
import type { SprayPlan } from '@/lib/plan/spray-plan';
import { K_IN_K2O, P_IN_P2O5, perElement, type Element, type PerElement } from '@/lib/spray/nutrients';
import { elementsPresent } from '@/lib/spray/season-ledger';
import { showNutrientRate, type UnitSystem, unitLabel } from '@/lib/units/display';

/** As the trade counts: phosphorus and potassium by their oxides. */
const shownAs: Partial<Record<Element, { name: string; share: number }>> = {
  P: { name: 'P₂O₅', share: P_IN_P2O5 },
  K: { name: 'K₂O', share: K_IN_K2O },
};

function nutrientName(element: Element): string {
  return shownAs[element]?.name ?? element;
}

/** A nutrient's figure without its unit, which the table's caption carries. */
function figure(nutrients: PerElement, element: Element, system: UnitSystem): string {
  return showNutrientRate(nutrients[element] / (shownAs[element]?.share ?? 1), system).text.split(' ')[0] ?? '';
}

/** "N 0.25, Fe 0.02 lb/1000 ft²" of one product or a whole spray. */
export function nutrientLine(nutrients: PerElement, system: UnitSystem): string {
  const present = elementsPresent(nutrients);
  if (present.length === 0) return 'no guaranteed nutrient';
  return `${present.map((element) => `${nutrientName(element)} ${figure(nutrients, element, system)}`).join(', ')} ${unitLabel(system === 'metric' ? 'kg/ha' : 'lb/1000ft2')}`;
}

/** Each plot's season so far, and with this spray. */
export function NutrientTable({ plan, system }: { plan: SprayPlan; system: UnitSystem }) {
  const elements = elementsPresent(
    plan.seasons.reduce((all, plot) => mostOf(all, plot.withPlanKgPerHa), plan.sheet.nutrientsKgPerHa),
  );
  if (elements.length === 0) return <p className="soft">No product of this mix has a guaranteed nutrient.</p>;
  return (
    <TableHold label="Nutrients by plot">
      <table>
        <caption>
          {unitLabel(system === 'metric' ? 'kg/ha' : 'lb/1000ft2')}; season from{' '}
          {system === 'metric' ? `1 ${plan.season.beginsIn}` : `${plan.season.beginsIn} 1,`} {plan.season.year}
        </caption>
        <thead>
          <tr>
            <th scope="col"> </th>
            {elements.map((element) => (
              <th key={element} scope="col" className="number">
                {nutrientName(element)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">This spray</th>
            {elements.map((element) => (
              <td key={element} className="number">
                <strong>{figure(plan.sheet.nutrientsKgPerHa, element, system)}</strong>
              </td>
            ))}
          </tr>
          {plan.seasons.map((plot) => (
            <tr key={plot.plotId}>
              <th scope="row">
                {plot.name}: so far → with it
                {!plot.complete && <div className="soft">at least: a product of unknown weight is in it</div>}
              </th>
              {elements.map((element) => (
                <td key={element} className="number">
                  {figure(plot.beforeKgPerHa, element, system)} → {figure(plot.withPlanKgPerHa, element, system)}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </TableHold>
  );
}

const mostOf = (a: PerElement, b: PerElement): PerElement => perElement((element) => Math.max(a[element], b[element]));
