import '@/app/trials/_parts/trials.css';
import Link from 'next/link';
import { dueText, type DueThing } from '@/lib/trial/lawn-due';
import { shortDayText, type Reader } from '@/lib/units/dates';

const STATES: Record<DueThing['state'], string> = {
  missing: 'missing',
  late: 'still counts',
  today: 'today',
  later: '',
};

/** Where one does it. */
const addressOf = (thing: DueThing): string => {
  const [first] = thing.reasons;
  switch (thing.kind) {
    case 'photos':
      return '/capture';
    case 'ratings':
      return first?.of === 'trial' ? `/trials/${first.id}/rate` : '/trials';
    case 'trial-spray':
      return first?.of === 'trial' ? `/trials/${first.id}` : '/trials';
    case 'product':
      return `/shelf/${thing.product?.id ?? ''}`;
    case 'plan':
      return `/plan/${thing.plan?.id ?? ''}`;
  }
};

const whyAddress = (thing: DueThing): string | null => {
  const [first] = thing.reasons;
  return first ? (first.of === 'spray' ? `/sprays/${first.id}` : `/trials/${first.id}`) : null;
};

/** How many coming things stand open on the diary; the rest folds away. */
const COMING = 3;

/** What is due: today's first, then what is coming; what was missed and what lies further ahead fold away. */
export function DueNow({ things, reader }: { things: readonly DueThing[]; reader: Reader }) {
  if (things.length === 0) return null;
  const now = things.filter((thing) => thing.state === 'today' || thing.state === 'late');
  const coming = things.filter((thing) => thing.state === 'later');
  const missed = things.filter((thing) => thing.state === 'missing');
  const more = [...coming.slice(COMING), ...missed];
  return (
    <section className="sheet due-sheet" aria-label="What is due">
      <h2>What is due</h2>
      {now.length === 0 && <p className="soft">Nothing today.</p>}
      <ul className="due-list">
        {[...now, ...coming.slice(0, COMING)].map((thing) => (
          <Due key={thing.key} thing={thing} reader={reader} />
        ))}
      </ul>
      {more.length > 0 && (
        <details>
          <summary>
            {[
              coming.length > COMING && `${coming.length - COMING} further ahead`,
              missed.length > 0 && `${missed.length} missed`,
            ]
              .filter(Boolean)
              .join(', ')}
          </summary>
          <ul className="due-list">
            {more.map((thing) => (
              <Due key={thing.key} thing={thing} reader={reader} />
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function Due({ thing, reader }: { thing: DueThing; reader: Reader }) {
  const { title, why } = dueText(thing, reader);
  const reason = whyAddress(thing);
  const state = STATES[thing.state];
  return (
    <li className={thing.state === 'today' || thing.state === 'late' ? 'due-now due-row' : 'due-row'}>
      <span className="due-day">
        {shortDayText(new Date(`${thing.on}T12:00:00Z`), { ...reader, timeZone: 'UTC' })}
        {state && <span className={thing.state === 'missing' ? 'wrong' : 'soft'}>{state}</span>}
      </span>
      <span>
        <Link href={addressOf(thing)}>{title}</Link>
        <span className="soft due-why">{reason ? <Link href={reason}>{why}</Link> : why}</span>
      </span>
    </li>
  );
}
