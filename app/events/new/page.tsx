import type { Metadata } from 'next';
import Link from 'next/link';
import { currentLawn } from '@/app/_ui/current-lawn';
import { eventKindWords } from '@/app/_ui/event-words';
import { listEvents } from '@/lib/diary/lawn-events';
import { listPlots } from '@/lib/diary/plots';
import { listProducts } from '@/lib/diary/products';
import { readEventQuery } from '@/lib/forms/queries/event-query';
import { EventForm } from '../event-form';
import { KindRow } from '../kind-row';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Write down what happened' };

export default async function NewEventPage({
  searchParams,
}: {
  searchParams: Promise<Record<string, string | string[] | undefined>>;
}) {
  const lawn = await currentLawn();
  if (lawn) await askPage('works', { lawn: lawn.id });
  const { kind, plotId } = readEventQuery(await searchParams);
  if (!lawn) {
    return (
      <div className="teach">
        <h2>First a lawn</h2>
        <p>What happened is written down for a lawn. Set one up and come back; it takes a minute.</p>
        <Link className="button button-main" href="/lawn">
          Set up a lawn
        </Link>
      </div>
    );
  }
  const [plots, products, last] = await Promise.all([
    listPlots(lawn.id),
    kind === 'product' ? listProducts() : [],
    listEvents(lawn.id, { kinds: [kind], limit: 1 }),
  ]);
  return (
    <>
      <h1>{eventKindWords[kind]}</h1>
      <KindRow current={kind} />
      <div className="sheet">
        <EventForm
          key={kind}
          lawn={lawn}
          plots={plots}
          products={products}
          kind={kind}
          event={null}
          plotId={plotId}
          last={last[0] ?? null}
          now={new Date()}
        />
      </div>
    </>
  );
}
