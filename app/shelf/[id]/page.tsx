import type { Metadata } from 'next';
import { notFound } from 'next/navigation';
import { currentLawn } from '@/app/_ui/current-lawn';
import { findProduct } from '@/lib/diary/products';
import { takeOffShelf } from '../actions';
import { ProductForm } from '../product-form';
import { askPage, Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Product' };

export default async function ProductPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('looks', 'some-lawn');
  const [lawn, product] = await Promise.all([currentLawn(), findProduct((await params).id)]);
  if (!product) notFound();
  return (
    <>
      <Rights forms="keeps" />
      <h1>
        {product.name} {product.generic && <span className="chip">generic</span>}
      </h1>
      {product.source && <p className="soft">Figures from: {product.source}. The label of what you bought wins.</p>}
      <div className="sheet">
        <ProductForm product={product} system={lawn?.unitSystem ?? 'us-customary'} />
      </div>
      <form action={takeOffShelf}>
        <input type="hidden" name="id" value={product.id} />
        <button type="submit" className="button-warn">
          Take it off the shelf
        </button>
        <span className="soft"> Sprays that used it keep it.</span>
      </form>
    </>
  );
}
