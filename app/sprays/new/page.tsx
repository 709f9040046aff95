import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { listSprayers } from '@/lib/diary/sprayers';
import { usualPlots } from '@/lib/work/photos/usual-plots';
import { SprayForm } from '../spray-form';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Log a spray' };

export default async function NewSprayPage() {
  const lawn = await currentLawn();
  if (lawn) await askPage('works', { lawn: lawn.id });
  const [plots, products, sprayers, ticked] = lawn
    ? await Promise.all([listPlots(lawn.id), listProducts(), listSprayers(lawn.id), usualPlots(lawn.id)])
    : [[], [], [], []];
  const missing = !lawn ? 'a lawn' : plots.length === 0 ? 'a plot' : products.length === 0 ? 'a product' : null;
  if (!lawn || missing) {
    return (
      <div className="teach">
        <h2>First {missing}</h2>
        <p>A spray says what went onto which plot. Set up {missing} and come back; it takes a minute.</p>
        <Link className="button button-main" href={missing === 'a product' ? '/shelf/new' : '/lawn'}>
          Set up {missing}
        </Link>
      </div>
    );
  }
  return (
    <>
      <h1>Log a spray</h1>
      <div className="sheet">
        <SprayForm
          lawn={lawn}
          plots={plots}
          products={products}
          sprayers={sprayers}
          spray={null}
          ticked={ticked}
          now={new Date()}
        />
      </div>
    </>
  );
}
