import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { readPlanWish } from '@/lib/forms/queries/plan-query';
import { listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { findSpray } from '@/lib/diary/sprays';
import { putGenericMaterials } from '../../shelf/actions';
import { BenchPage } from '../_bench/bench-page';
import { askPage } from '@/app/_ui/rights';
import { mayDo } from '@/lib/work/people/rights';

export const metadata: Metadata = { title: 'Plan a spray' };

export default async function NewPlanPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  if (lawn) await askPage('works', { lawn: lawn.id });
  const [plots, products] = lawn ? await Promise.all([listPlots(lawn.id), listProducts()]) : [[], []];
  if (!lawn || plots.length === 0) {
    const missing = lawn ? 'a plot' : 'a lawn';
    return (
      <div className="teach">
        <h2>First {missing}</h2>
        <p>
          A plan works out what goes into the tank for a piece of ground. Set up {missing} and come back; it takes a
          minute.
        </p>
        <Link className="button button-main" href="/lawn">
          Set up {missing}
        </Link>
      </div>
    );
  }
  if (products.length === 0) {
    return (
      <div className="teach">
        <h2>First something on the shelf</h2>
        <p>
          Enter what you have as its label prints it, or start with generic materials (ammonium sulfate, iron sulfate,
          citric acid and the like) whose formula is known.
        </p>
        <form action={putGenericMaterials} className="row">
          <button type="submit">Put generic materials on the shelf</button>
          <Link className="button" href="/shelf/new">
            Enter a product
          </Link>
        </form>
      </div>
    );
  }
  const search = await searchParams;
  const { like } = search;
  const earlier = typeof like === 'string' && (await mayDo('looks', { spray: like })) ? await findSpray(like) : null;
  return (
    <>
      <h1>Plan a spray</h1>
      <BenchPage lawn={lawn} plan={null} like={earlier} wish={readPlanWish(search)} />
    </>
  );
}
