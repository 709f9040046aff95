import Link from 'next/link';
import { eventKindWords } from '@/app/_ui/event-words';
import { LAWN_EVENT_KINDS, type LawnEventKind } from '@/lib/trial/lawn-event';

/** One tap to each short entry. */
export function KindRow({ current }: { current?: LawnEventKind }) {
  return (
    <nav className="row for-works" aria-label="Write down what happened" style={{ marginBottom: '0.75rem' }}>
      <span className="soft">Write down:</span>
      {LAWN_EVENT_KINDS.map((kind) => (
        <Link
          key={kind}
          className="chip"
          href={`/events/new?kind=${kind}`}
          {...(kind === current ? { 'aria-current': 'true' as const } : {})}
        >
          {eventKindWords[kind]}
        </Link>
      ))}
    </nav>
  );
}
