import Link from 'next/link';
import type { DueItem } from '@/lib/trial/due';
import { dateText, type Reader } from '@/lib/units/dates';

const WORDS = { photo: 'Photos', rating: 'Blind ratings', spray: 'Spray' } as const;
const STATES = {
  done: 'done',
  due: 'due today',
  late: 'late, still counts',
  missed: 'missed',
  later: 'to come',
} as const;

/** What the trial asks for, today's first. */
export function DueList({ due, base, reader }: { due: DueItem[]; base: string; reader: Pick<Reader, 'unitSystem'> }) {
  const now = due.filter((item) => item.state === 'due' || item.state === 'late');
  const rest = due.filter((item) => !now.includes(item));
  const link = { photo: '/photos', rating: `${base}/rate`, spray: '/sprays/new' } as const;
  const text = (item: DueItem) =>
    item.kind === 'photo' && item.dayOfTrial === 0
      ? 'Photos before the first spray'
      : `${WORDS[item.kind]}, day ${item.dayOfTrial}`;
  return (
    <>
      {now.length === 0 && <p>Nothing is due today.</p>}
      <ul className="due-list">
        {now.map((item) => (
          <li key={`${item.kind}-${item.dayOfTrial}`} className="due-now">
            <Link href={link[item.kind]}>
              <strong>{text(item)}</strong>
            </Link>{' '}
            · {STATES[item.state]}, {dateText(item.plannedOn, reader)}
            {item.missingPlots.length > 0 && <div className="soft">Still without: {item.missingPlots.join(', ')}</div>}
          </li>
        ))}
      </ul>
      <details>
        <summary>All days of the trial</summary>
        <ul className="due-list">
          {rest.map((item) => (
            <li key={`${item.kind}-${item.dayOfTrial}`}>
              {text(item)} · {dateText(item.plannedOn, reader)} · {STATES[item.state]}
              {item.state === 'missed' && <span className="cell-missing"> ({item.missingPlots.join(', ')})</span>}
            </li>
          ))}
        </ul>
      </details>
    </>
  );
}
