import type { Metadata } from 'next';
import { notFound } from 'next/navigation';
import { findLawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { findProducts, listProducts } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { findSpray } from '@/lib/diary/sprays';
import { SprayForm } from '../../spray-form';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Change a spray' };

export default async function EditSprayPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('works', { spray: (await params).id });
  const spray = await findSpray((await params).id);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  if (!spray || !lawn) notFound();
  const [plots, shelf, used, sprayers] = await Promise.all([
    listPlots(lawn.id),
    listProducts(),
    findProducts(spray.items.map((item) => item.productId)),
    listSprayers(lawn.id),
  ]);
  // What has left the shelf since is still what was sprayed.
  const products = [
    ...shelf,
    ...[...used.values()]
      .filter((product) => shelf.every((one) => one.id !== product.id))
      .map((product) => ({ ...product, name: `${product.name} (no longer on the shelf)` })),
  ];
  return (
    <>
      <h1>Change a spray</h1>
      <div className="sheet">
        <SprayForm
          lawn={lawn}
          plots={plots}
          products={products}
          sprayers={sprayers}
          spray={spray}
          now={spray.startedAt}
        />
      </div>
    </>
  );
}
