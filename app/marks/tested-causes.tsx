import Link from 'next/link';
import type { TestedFactor } from '@/lib/explain/read-cause-test';

const VERDICT: Record<TestedFactor['verdict'], string> = {
  for: 'Speaks for it',
  against: 'Speaks against it',
  open: 'Not told',
};

/** What trials of the mark's causes have shown, with what they cannot say. */
export function TestedCauses({ tested }: { tested: readonly TestedFactor[] }) {
  if (tested.length === 0) return null;
  return (
    <>
      <h3>What was tried</h3>
      <ul className="sentences">
        {tested.map((one) => (
          <li key={`${one.trialId} ${one.factor}`}>
            <strong>
              {one.factor}: {VERDICT[one.verdict]}.
            </strong>{' '}
            {one.text} (<Link href={`/trials/${one.trialId}/analysis`}>{one.trialName}</Link>).{' '}
            <span className="soft">Its limits: {one.limits}.</span>
          </li>
        ))}
      </ul>
    </>
  );
}
