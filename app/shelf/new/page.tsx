import type { Metadata } from 'next';
import { currentLawn } from '@/app/_ui/current-lawn';
import { ProductForm } from '../product-form';

export const metadata: Metadata = { title: 'Add a product' };

export default async function NewProductPage() {
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
