import type { Metadata } from 'next';
import { notFound } from 'next/navigation';
import { findLawn } from '@/lib/diary/lawns';
import { findSpray } from '@/lib/diary/sprays';
import { BenchPage } from '../../_bench/bench-page';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Change a plan' };

export default async function EditPlanPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('works', { spray: (await params).id });
  const plan = await findSpray((await params).id);
  const lawn = plan?.state === 'planned' ? await findLawn(plan.lawnId) : null;
  if (!plan || !lawn) notFound();
  return (
    <>
      <h1>Change a plan</h1>
      <BenchPage lawn={lawn} plan={plan} like={null} />
    </>
  );
}
