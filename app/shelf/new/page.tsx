import type { Metadata } from 'next';
import { currentLawn } from '@/app/_ui/current-lawn';
import { ProductForm } from '../product-form';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Add a product' };

export default async function NewProductPage() {
  await askPage('keeps', 'some-lawn');
  const lawn = await currentLawn();
  return (
    <>
      <h1>Add a product</h1>
      <div className="sheet">
        <ProductForm product={null} system={lawn?.unitSystem ?? 'us-customary'} />
      </div>
    </>
  );
}
