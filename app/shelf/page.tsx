import { TableHold } from '@/app/_ui/table-hold';
import type { Metadata } from 'next';
import Link from 'next/link';
import { listProducts, type Product } from '@/lib/diary/products';
import { putGenericMaterials } from './actions';
import { GENERIC_MATERIALS } from '@/lib/spray/generic-materials';
import { significant, unitLabel } from '@/lib/units/display';

export const metadata: Metadata = { title: 'Shelf' };

function analysisOf(product: Product): string {
  const n = product.nAmmoniacalPercent + product.nNitratePercent + product.nUreaPercent + product.nOtherPercent;
  const parts = [`${significant(n)}-${significant(product.p2o5Percent)}-${significant(product.k2oPercent)}`];
  if (product.sPercent) parts.push(`S ${significant(product.sPercent)} %`);
  if (product.fePercent) parts.push(`Fe ${significant(product.fePercent)} %`);
  if (product.mnPercent) parts.push(`Mn ${significant(product.mnPercent)} %`);
  return parts.join(', ');
}

const amount = (value: number | null, unit: string | null) => (value === null || unit === null ? null : `${significant(value, 6)} ${unitLabel(unit)}`);

/** Most per application, interval and season, as printed; a dash where nothing was entered. */
function allowedBy(product: Product): string {
  const most = amount(product.labelMaxEnteredValue, product.labelMaxEnteredUnit);
  const season = amount(product.seasonCapEnteredValue, product.seasonCapEnteredUnit);
  const carrier = amount(product.labelLeastCarrierEnteredValue, product.labelLeastCarrierEnteredUnit);
  const parts = [
    most && `at most ${most}`,
    carrier && `in at least ${carrier}`,
    product.minIntervalDays !== null && `every ${product.minIntervalDays} days`,
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
  const products = await listProducts();
  return (
    <>
      <div className="row row-end">
        <h1>Shelf</h1>
        <div className="row">
          <Link className="button button-main" href="/shelf/new">
            Add a product
          </Link>
          {products.length > 0 && !GENERIC_MATERIALS.every((material) => products.some((product) => product.name === material.name)) && <PutGeneric />}
        </div>
      </div>
      {products.length === 0 ? (
        <div className="teach">
          <h2>The products you have at hand</h2>
          <p>Enter each as its label prints it: analysis, rate, interval. A spray is then a few picks from here, and the label’s limits are checked for you.</p>
          <div className="row">
            <Link className="button" href="/shelf/new">
              Add the first one
            </Link>
            <PutGeneric />
          </div>
          <p className="soft">Generic materials are chemicals by name, not brands: formula, analysis and cautions are filled in, rates and limits are for you to take from the label of what you bought.</p>
        </div>
      ) : (
        <TableHold label="Products on the shelf">
          <table>
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
                    <Link href={`/shelf/${product.id}`}>{product.name}</Link> {product.generic && <span className="chip">generic</span>}
                    <div className="soft">
                      {product.role}, {product.form}
                    </div>
                  </td>
                  <td>{analysisOf(product)}</td>
                  <td>
                    {product.labelRateEnteredValue !== null && product.labelRateEnteredUnit
                      ? `${significant(product.labelRateEnteredValue, 6)} ${unitLabel(product.labelRateEnteredUnit)}`
                      : '–'}
                  </td>
                  <td>{allowedBy(product)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableHold>
      )}
    </>
  );
}
