import type { Metadata } from 'next';
import { notFound } from 'next/navigation';
import { By } from '@/app/_ui/by';
import { eventKindWords } from '@/app/_ui/event-words';
import { findEvent } from '@/lib/diary/lawn-events';
import { findLawn } from '@/lib/diary/lawns';
import { listPlots } from '@/lib/diary/plots';
import { findProducts, listProducts } from '@/lib/diary/products';
import { removeEvent } from '../actions';
import { EventForm } from '../event-form';
import { askPage, Rights } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'What happened' };

export default async function EventPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('works', { event: (await params).id });
  const event = await findEvent((await params).id);
  const lawn = event ? await findLawn(event.lawnId) : null;
  if (!event || !lawn) notFound();
  const used = event.kind === 'product' && event.productId !== null ? [event.productId] : [];
  const [plots, shelf, own] = await Promise.all([
    listPlots(lawn.id),
    event.kind === 'product' ? listProducts() : [],
    findProducts(used),
  ]);
  const products = [...shelf, ...[...own.values()].filter((product) => shelf.every((one) => one.id !== product.id))];
  return (
    <>
      <Rights lawnId={lawn.id} />
      <div className="row row-end">
        <h1>{eventKindWords[event.kind]}</h1>
        <form action={removeEvent}>
          <input type="hidden" name="id" value={event.id} />
          <button type="submit" className="button-warn">
            Remove
          </button>
        </form>
      </div>
      <div className="sheet">
        <EventForm
          lawn={lawn}
          plots={plots}
          products={products}
          kind={event.kind}
          event={event}
          last={null}
          now={event.at}
        />
        <By words="Written down by" id={event.byPersonId} />
      </div>
    </>
  );
}
