import { TableHold } from '@/app/_ui/table-hold';
import type { Metadata } from 'next';
import { currentLawn } from '@/app/_ui/current-lawn';
import Link from 'next/link';
import { listProducts, type Product } from '@/lib/diary/products';
import { putGenericMaterials } from './actions';
import { GENERIC_MATERIALS } from '@/lib/spray/generic-materials';
import { showTyped, significant, type UnitSystem } from '@/lib/units/display';
import { askPage, Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Shelf' };

function analysisOf(product: Product): string {
  const n = product.nAmmoniacalPercent + product.nNitratePercent + product.nUreaPercent + product.nOtherPercent;
  const { p2o5Percent, k2oPercent } = product;
  // Three zeros say nothing of an acid or a surfactant.
  const grade =
    n + p2o5Percent + k2oPercent > 0
      ? [`${significant(n)}-${significant(p2o5Percent)}-${significant(k2oPercent)}`]
      : [];
  const others = (
    [
      ['S', product.sPercent],
      ['Mg', product.mgPercent],
      ['Ca', product.caPercent],
      ['Fe', product.fePercent],
      ['Mn', product.mnPercent],
    ] as const
  ).flatMap(([name, percent]) => (percent > 0 ? [`${name} ${significant(percent)} %`] : []));
  return [...grade, ...others].join(', ') || '–';
}

const amount = (value: number | null, unit: string | null, system: UnitSystem) =>
  value === null || unit === null ? null : showTyped({ value, unit }, system).text;

/** Most per application, interval and season, as printed; a dash where nothing was entered. */
function allowedBy(product: Product, system: UnitSystem): string {
  const most = amount(product.labelMaxEnteredValue, product.labelMaxEnteredUnit, system);
  const season = amount(product.seasonCapEnteredValue, product.seasonCapEnteredUnit, system);
  const carrier = amount(product.labelLeastCarrierEnteredValue, product.labelLeastCarrierEnteredUnit, system);
  const parts = [
    most && `at most ${most}`,
    carrier && `in at least ${carrier}`,
    product.labelLowestTempC !== null &&
      `not below ${amount(product.labelLowestTempEnteredValue, product.labelLowestTempEnteredUnit, system)}`,
    product.labelHighestTempC !== null &&
      `not above ${amount(product.labelHighestTempEnteredValue, product.labelHighestTempEnteredUnit, system)}`,
    product.labelWatering === 'water-in' && 'watered in',
    product.labelWatering === 'keep-dry' && 'not watered in',
    product.labelRainfastHours !== null && `dry for ${product.labelRainfastHours} h`,
    product.labelReEntryHours !== null && `people and pets off for ${product.labelReEntryHours} h`,
    product.labelMowingWaitDays !== null && `no mowing for ${product.labelMowingWaitDays} days`,
    product.minIntervalDays !== null && product.minIntervalDays > 0 && `every ${product.minIntervalDays} days`,
    season && `${season} a season`,
    product.seasonMostApplications !== null && `${product.seasonMostApplications} times a season`,
  ].filter(Boolean);
  return parts.length > 0 ? parts.join(', ') : '–';
}

function PutGeneric() {
  return (
    <form action={putGenericMaterials}>
      <button type="submit" className="button-plain">
        Put generic materials on the shelf
      </button>
    </form>
  );
}

export default async function ShelfPage() {
  await askPage('looks', 'some-lawn');
  const products = await listProducts();
  const system = (await currentLawn())?.unitSystem ?? 'us-customary';
  return (
    <>
      <Rights forms="keeps" quiet />
      <div className="row row-end">
        <h1>Shelf</h1>
        <div className="row">
          <Link className="button button-main" href="/shelf/new">
            Add a product
          </Link>
          {products.length > 0 &&
            !GENERIC_MATERIALS.every((material) => products.some((product) => product.name === material.name)) && (
              <PutGeneric />
            )}
        </div>
      </div>
      {products.length === 0 ? (
        <div className="teach">
          <h2>The products you have at hand</h2>
          <p>
            Enter each as its label prints it: analysis, rate, interval. A spray is then a few picks from here, and the
            label’s limits are checked for you.
          </p>
          <div className="row">
            <Link className="button" href="/shelf/new">
              Add the first one
            </Link>
            <PutGeneric />
          </div>
          <p className="soft">
            Generic materials are chemicals by name, not brands: formula, analysis and cautions are filled in, rates and
            limits are for you to take from the label of what you bought.
          </p>
        </div>
      ) : (
        <TableHold label="Products on the shelf">
          <table className="stack">
            <thead>
              <tr>
                <th>Product</th>
                <th>Analysis</th>
                <th>Label rate</th>
                <th>Label allows</th>
              </tr>
            </thead>
            <tbody>
              {products.map((product) => (
                <tr key={product.id}>
                  <td>
                    <Link href={`/shelf/${product.id}`}>{product.name}</Link>{' '}
                    {product.generic && <span className="chip">generic</span>}
                    <div className="soft">
                      {product.role}, {product.form}
                    </div>
                  </td>
                  <td data-head="Analysis">{analysisOf(product)}</td>
                  <td data-head="Label rate">
                    {amount(product.labelRateEnteredValue, product.labelRateEnteredUnit, system) ?? '–'}
                  </td>
                  <td data-head="Label allows">{allowedBy(product, system)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
    </>
  );
}
