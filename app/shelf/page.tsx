import type { Metadata } from 'next';
import Link from 'next/link';
import { listProducts, type Product } from '@/lib/diary/products';
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

export default async function ShelfPage() {
  const products = await listProducts();
  return (
    <>
      <div className="row row-end">
        <h1>Shelf</h1>
        <Link className="button button-main" href="/shelf/new">
          Add a product
        </Link>
      </div>
      {products.length === 0 ? (
        <div className="teach">
          <h2>The products you have at hand</h2>
          <p>Enter each as its label prints it: analysis, rate, interval. A spray is then a few picks from here, and the label’s limits are checked for you.</p>
          <Link className="button" href="/shelf/new">
            Add the first one
          </Link>
        </div>
      ) : (
        <div className="table-hold sheet">
          <table>
            <thead>
              <tr>
                <th>Product</th>
                <th>Analysis</th>
                <th>Label rate</th>
                <th>Interval</th>
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
                  <td>{product.minIntervalDays === null ? '–' : `${product.minIntervalDays} days`}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </>
  );
}
