import type { Metadata } from 'next';
import { notFound } from 'next/navigation';
import { findLawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { findSpray } from '@/lib/diary/sprays';
import { SprayForm } from '../../spray-form';

export const metadata: Metadata = { title: 'Change a spray' };

export default async function EditSprayPage({ params }: { params: Promise<{ id: string }> }) {
  const spray = await findSpray((await params).id);
  const lawn = spray ? await findLawn(spray.lawnId) : null;
  if (!spray || !lawn) notFound();
  const [plots, products, sprayers] = await Promise.all([listPlots(lawn.id), listProducts(), listSprayers(lawn.id)]);
  return (
    <>
      <h1>Change a spray</h1>
      <div className="sheet">
        <SprayForm lawn={lawn} plots={plots} products={products} sprayers={sprayers} spray={spray} now={spray.startedAt} />
      </div>
    </>
  );
}
